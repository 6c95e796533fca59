/** What evidence of the same value says, in a line for a person; read from the map, so that a map from a file says the same as a fresh finding. */
import type { Placement } from '../../frames/bits.ts';
import type { MapSignal } from '../../map/schema.ts';
import { placeWords } from '../place-words.ts';

type Evidence = MapSignal['evidence'][number];

const number = (evidence: Evidence, key: string): number | null =>
  typeof evidence[key] === 'number' ? (evidence[key] as number) : null;

/** More digits than these tell nothing to a reader; the evidence has them. */
const SCALE_DIGITS = 4;
const OFFSET_DECIMALS = 1;

const trimmed = (text: string): string => (text.includes('.') ? text.replace(/\.?0+$/, '') : text);

/** As many decimals as the standard error leaves sure, and no more than so many. */
function figure(value: number, error: number, most: number): string {
  const digits = error > 0 ? 1 - Math.floor(Math.log10(error)) : most;
  return trimmed(value.toFixed(Math.min(most, Math.max(0, digits))));
}

const decimalsOf = (value: number): number =>
  value === 0 ? 0 : Math.max(0, SCALE_DIGITS - 1 - Math.floor(Math.log10(Math.abs(value))));

interface Named {
  readonly bus: string;
  readonly id: string;
  readonly placement: Placement;
}

/** The other field that evidence is about; null where it is of another kind. */
export function otherField(evidence: Evidence): Named | null {
  const of = evidence['of'];
  if (typeof of !== 'object' || of === null || !('lsb' in of)) return null;
  const { bus, id } = of as unknown as Named;
  return { bus, id, placement: of as unknown as Placement };
}

/** "0x1F4 b2–3", with the bus in front where it is another. */
const nameOf = ({ bus, id, placement }: Named, ownBus: string): string =>
  `${bus === ownBus ? '' : `${bus} `}${id} ${placeWords(placement)}`;

function lineWords(evidence: Evidence): string {
  const [scale, offset] = [number(evidence, 'scale'), number(evidence, 'offset')];
  if (scale === null || offset === null) return '';
  const times = figure(scale, number(evidence, 'scaleSe') ?? 0, Math.min(12, decimalsOf(scale)));
  const plus = figure(Math.abs(offset), number(evidence, 'offsetSe') ?? 0, OFFSET_DECIMALS);
  const factor = times === '1' ? '' : ` x ${times.replace('-', '\u2212')}`;
  return `${factor}${plus === '0' ? '' : ` ${offset < 0 ? '\u2212' : '+'} ${plus}`}`;
}

function lagWords(evidence: Evidence): string {
  const [lag, error] = [number(evidence, 'lagMs') ?? 0, number(evidence, 'lagMsSe') ?? 0];
  if (Math.abs(lag) <= 3 * error)
    return `no lag told from none (to ${figure(3 * error, 3 * error, OFFSET_DECIMALS)} ms)`;
  return `${figure(Math.abs(lag), error, OFFSET_DECIMALS)} ms ${lag > 0 ? 'later' : 'earlier'}, give or take ${figure(error, error, OFFSET_DECIMALS)}`;
}

function valuesWords(evidence: Evidence): string {
  const { values } = evidence;
  if (!Array.isArray(values)) return '';
  const pairs = values as [number, number][];
  if (pairs.every(([from, to]) => from === to)) return '';
  return `, ${pairs.map(([from, to]) => `${to} for its ${from}`).join(', ')}`;
}

/** null where the evidence is of another kind. */
export function sameValueWords(evidence: Evidence, bus: string): string | null {
  const n = number(evidence, 'n') ?? 0;
  const other = otherField(evidence);
  if (evidence['same'] === 'copy' && other) {
    const compared = Array.isArray(evidence['values']) ? `${n} moments of turning` : `${n} values`;
    return `the same value as ${nameOf(other, bus)}${lineWords(evidence)}${valuesWords(evidence)}; ${lagWords(evidence)}; ${compared} compared`;
  }
  if (evidence['same'] !== 'source') return null;
  const listed = Array.isArray(evidence['listed']) ? (evidence['listed'] as (Named & Placement)[]) : [];
  const names = listed.map((place) => nameOf({ ...place, placement: place }, bus));
  const more = (number(evidence, 'copies') ?? names.length) - names.length;
  return `also shown by ${names.join(', ')}${more > 0 ? ` and ${more} more` : ''}`;
}
