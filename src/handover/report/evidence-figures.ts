/** Figures of evidence, which may hold anything: a map comes from anywhere. */
import { grouped } from '../../kit/figures.ts';
import { value } from '../../kit/sheet-figures.ts';
import type { Words } from './document.ts';

export const asNumber = (given: unknown): number | null =>
  typeof given === 'number' && Number.isFinite(given) ? given : null;
export const asText = (given: unknown): string => (typeof given === 'string' ? given : '');
export const listOf = (given: unknown): readonly unknown[] => (Array.isArray(given) ? given : []);

const RAISED = [...'⁰¹²³⁴⁵⁶⁷⁸⁹'];
/** "10⁻⁹": a negative power of ten. */
const tenTo = (power: number): string => `10⁻${[...String(power)].map((digit) => RAISED[Number(digit)]).join('')}`;

/** "0.0004", "6 × 10⁻⁹", "below 10⁻⁹⁹": a p or q value, never rounded to nothing. */
export function chanceWords(given: unknown): string {
  const p = asNumber(given);
  if (p === null) return '';
  if (p === 0 || p < 1e-99) return `below ${tenTo(99)}`;
  if (p >= 0.0001) return String(Number(p.toPrecision(2)));
  const [digits, power] = p.toExponential(0).split('e') as [string, string];
  return `${digits}\u00a0×\u00a0${tenTo(Number(power.replace(/^[-+]/, '')))}`;
}

export const figure = (given: unknown): string => {
  const known = asNumber(given);
  return known === null ? '?' : Math.abs(known) < 0.001 && known !== 0 ? known.toExponential(1) : value(known);
};
export const plusMinus = (given: unknown, error: unknown): string =>
  asNumber(error) === null ? figure(given) : `${figure(given)} ± ${figure(error)}`;
export const counted = (given: unknown): string => grouped(asNumber(given) ?? 0);
export const onlyIf = (condition: unknown, words: string): string => (condition ? words : '');

/** Keys that the sentence of a kind has told already. */
export interface Told {
  readonly words: Words;
  readonly keys: readonly string[];
}
