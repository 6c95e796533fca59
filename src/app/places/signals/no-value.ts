/**
 * Raw values that mean "no value": modules send all bits set, or a coding's extreme, while they have nothing to say. Where the
 * observed range ends at one, leaving it out is offered; nothing is left out unasked.
 */
import type { MapSignal } from '../../../map/schema.ts';
import { placementLength } from '../../../frames/bits.ts';
import { fillingsOf } from '../../pictures/traces-model.ts';

/** The unsigned raw value at an end of the observed range that looks like a filling; null where neither does. */
export function fillingSeen(signal: MapSignal): { readonly raw: number; readonly physical: number } | null {
  const { observed } = signal;
  if (!observed) return null;
  const taken = signal.invalid.map(({ from }) => Number(from));
  for (const physical of fillingsOf(signal)) {
    if (physical !== observed.min && physical !== observed.max) continue;
    const coded = Math.round((physical - signal.offset) / signal.scale);
    const raw = coded < 0 ? coded + 2 ** placementLength(signal) : coded;
    if (!taken.includes(raw)) return { raw, physical };
  }
  return null;
}

/** The signal without that value; what was observed besides it. */
export const withNoValue = (signal: MapSignal, raw: number, observed: MapSignal['observed']): MapSignal => ({
  ...signal,
  observed,
  invalid: [...signal.invalid, { from: raw, to: raw, meaning: 'no value' }],
});
