/** The fit as the map would keep it: in the signal's own unit where it has one that the readings can be converted to. */
import { conversionBetween } from '../../../kit/unit-conversion.ts';
import { decodedByTable } from '../../../map/bent-signal.ts';
import type { MapSignal } from '../../../map/schema.ts';
import { fitInUnit, lineConverted } from '../../../reference/in-unit.ts';
import type { Fit } from '../../../reference/types.ts';
import type { FitState } from './fit-state.ts';
import type { Line } from './typed-fit.ts';

type RoundScale =
  | { readonly simpleScale: number; readonly simpleOffset: number }
  | { readonly simpleScale: null; readonly simpleOffset: null };

export interface KeptLine {
  readonly line: Line & RoundScale;
  readonly unit: string;
  /** A tie that is bent, ascending in raw; else null. */
  readonly table: NonNullable<Fit['table']> | null;
}

const NO_ROUND: RoundScale = { simpleScale: null, simpleOffset: null };

const roundOf = ({ simpleScale, simpleOffset, offset }: Fit): RoundScale =>
  simpleScale === null ? NO_ROUND : { simpleScale, simpleOffset: simpleOffset ?? offset };

/** Null while there is no line. */
export function keptLine(
  signal: MapSignal,
  { line, fit, chosen }: Pick<FitState, 'line' | 'fit' | 'chosen'>,
): KeptLine | null {
  if (!line || !chosen) return null;
  const by = signal.unit && chosen.unit ? conversionBetween(chosen.unit, signal.unit) : null;
  const unit = by ? signal.unit : chosen.unit || signal.unit;
  if (!fit) return { line: { ...(by ? lineConverted(line, by) : line), ...NO_ROUND }, unit, table: null };
  const kept = by ? (fitInUnit(fit, chosen.name, chosen.unit, signal.unit) ?? fit) : fit;
  return { line: { ...kept, ...roundOf(kept) }, unit, table: kept.table ?? null };
}

const isNear = (a: number, b: number, size: number): boolean => Math.abs(a - b) <= 1e-9 * size;

/** Whether the signal has this line or curve already. */
export function isTaken(signal: MapSignal, { line, table }: KeptLine): boolean {
  if (table)
    return (
      signal.table?.length === table.length &&
      table.every(([raw, physical], i) => signal.table?.[i]?.[0] === raw && signal.table[i]?.[1] === physical)
    );
  return (
    !signal.table &&
    isNear(signal.scale, line.scale, Math.abs(line.scale)) &&
    isNear(signal.offset, line.offset, 1 + Math.abs(line.offset))
  );
}

/** The signal with the curve for its decoding; what was allowed on the line holds no more. */
export const bentAs = (signal: MapSignal, table: NonNullable<Fit['table']>): MapSignal => ({
  ...decodedByTable(signal, table),
  allowed: null,
});
