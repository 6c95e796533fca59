/**
 * What a signal may be set to: what its bits can hold, what was observed, and what a person allows. Limits are compared after rounding to raw steps, so that a figure rounded in the map's text does no harm.
 */
import { placementLength } from '../frames/bits.ts';
import { codedLimits } from './coding.ts';
import { scalingOf } from './scaling.ts';
import type { MapSignal } from './schema.ts';

export interface Limits {
  readonly min: number;
  readonly max: number;
}

const ordered = (a: number, b: number): Limits => ({ min: Math.min(a, b), max: Math.max(a, b) });

/** The physical values that the signal's bits can hold; null for text. */
export function physicalLimits(signal: MapSignal): Limits | null {
  const coded = codedLimits(signal.coding, placementLength(signal));
  if (!coded) return null;
  if (signal.table && signal.table.length > 0) {
    const values = signal.table.map((point) => point[1]);
    return { min: Math.min(...values), max: Math.max(...values) };
  }
  const { toPhysical } = scalingOf(signal);
  return ordered(toPhysical(coded.min), toPhysical(coded.max));
}

/** `observed`: what recordings showed, within what a person allows. `allowed`: what a person allows, be it wider. */
export type RangeChoice = 'observed' | 'allowed';

/** The physical range that sending keeps to; null where neither range is known, or the two do not meet. */
export function knownRange(signal: MapSignal, choice: RangeChoice = 'observed'): Limits | null {
  const { observed, allowed } = signal;
  if (!observed || !allowed) return allowed ?? observed;
  if (choice === 'allowed') return allowed;
  const range = { min: Math.max(observed.min, allowed.min), max: Math.min(observed.max, allowed.max) };
  return range.min <= range.max ? range : null;
}

/**
 * The known range in coded steps, ends included (for floats in coded units, unrounded). Null where it is unknown
 * or cannot be expressed.
 */
export function knownCodedRange(signal: MapSignal, choice: RangeChoice = 'observed'): Limits | null {
  const range = knownRange(signal, choice);
  if (!range || signal.coding === 'text') return null;
  const { toCoded } = scalingOf(signal);
  const ends = ordered(toCoded(clampToTable(signal, range.min)), toCoded(clampToTable(signal, range.max)));
  if (Number.isNaN(ends.min) || Number.isNaN(ends.max)) return null;
  if (signal.coding === 'float') return ends;
  return { min: Math.round(ends.min), max: Math.round(ends.max) };
}

function clampToTable(signal: MapSignal, physical: number): number {
  if (!signal.table || signal.table.length === 0) return physical;
  const values = signal.table.map((point) => point[1]);
  return Math.min(Math.max(physical, Math.min(...values)), Math.max(...values));
}

/** Raw values that have a name, as numbers, ascending. */
export function namedStates(signal: MapSignal): number[] {
  return Object.keys(signal.states)
    .map(Number)
    .filter(Number.isSafeInteger)
    .sort((a, b) => a - b);
}
