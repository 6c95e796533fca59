/** What a raw value may be, as C conditions: no value at all, a named state, within what may be sent. */
import { codedLimits } from '../../map/coding.ts';
import { knownCodedRange, namedStates, type RangeChoice } from '../../map/limits.ts';
import { bigOf } from '../../map/raw-values.ts';
import type { MapSignal } from '../../map/schema.ts';
import type { CContext } from './context.ts';
import type { CSignal } from './member.ts';
import { u64 } from './text.ts';

export const pow = (bits: number): bigint => 1n << BigInt(bits);

export const i64 = (value: number | bigint): string =>
  `INT64_C(${typeof value === 'bigint' ? value : BigInt(Math.trunc(value))})`;

/** A condition on `raw`; null where no raw value is invalid. Comparisons that always hold are left away. */
export function invalidCondition(signal: MapSignal, bits: number): string | null {
  const most = pow(bits) - 1n;
  const tests = signal.invalid.map(({ from, to }) => {
    const parts = [bigOf(from) > 0n && `raw >= ${u64(bigOf(from))}`, bigOf(to) < most && `raw <= ${u64(bigOf(to))}`];
    return `(${parts.filter(Boolean).join(' && ') || '1'})`;
  });
  return tests.length > 0 ? tests.join(' || ') : null;
}

/** Ends of what may be sent, in coded steps, within what the bits hold; null where only named states may be sent. */
export function sendingRange({ signal, bits }: CSignal, choice: RangeChoice): { min: number; max: number } | null {
  const known =
    knownCodedRange(signal, choice) ??
    (signal.kind === 'flag' && namedStates(signal).length === 0 ? { min: 0, max: 1 } : null);
  const limits = codedLimits(signal.coding, bits);
  if (!known || !limits) return null;
  return { min: Math.max(known.min, limits.min), max: Math.min(known.max, limits.max) };
}

export function allowedStates(signal: MapSignal, bits: number): string[] {
  return namedStates(signal)
    .filter((raw) => raw < 2 ** bits)
    .map((raw) => `raw == ${u64(raw)}`);
}

/** The end of a block that refuses a value: names the signal and returns. */
export const fail = (
  c: CSignal,
  context: CContext,
  code: 'RANGE' | 'MEANS_INVALID' | 'NOT_RELEASED' | 'OTHER_PAGE',
): string[] => [`  s->failed = ${c.number};`, `  return ${context.macro}_${code};`, '}'];

/** Refuses a value that a receiver would read as none. */
export function meansInvalid(c: CSignal, context: CContext): string[] {
  const condition = invalidCondition(c.signal, c.bits);
  return condition ? [`if (${condition}) {`, ...fail(c, context, 'MEANS_INVALID')] : [];
}

/** Statements after `whole`, a coded value within what the bits hold, is known: gives `raw` and holds it against the range. */
export function wholeToRaw(c: CSignal, context: CContext, rawExpression: string): string[] {
  const range = sendingRange(c, context.ranges);
  const tests = [
    ...(range ? [`(whole >= ${i64(range.min)} && whole <= ${i64(range.max)})`] : []),
    ...allowedStates(c.signal, c.bits).map((test) => `(${test})`),
  ];
  return [
    `raw = ${rawExpression};`,
    `if (!(${tests.join(' || ') || '0'})) {`,
    ...fail(c, context, 'RANGE'),
    ...meansInvalid(c, context),
  ];
}
