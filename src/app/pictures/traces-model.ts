/**
 * Traces under the weave and in Signals: from the engine's low, high and last of each column to points and a scale.
 * A value holds until the next frame; inside a gap the pen is lifted. Physical values in, pixels out, no canvas.
 */
import type { Placement } from '../../frames/bits.ts';
import { placementLength } from '../../frames/bits.ts';
import type { MapSignal } from '../../map/schema.ts';
import type { TracePicture } from '../../jobs/engine-types.ts';
import type { Gap } from '../../timing/types.ts';
import { gapColumns } from './weave-columns.ts';

export interface TraceScale {
  readonly least: number;
  readonly greatest: number;
  /** Pixels of the drawing area. */
  readonly top: number;
  readonly bottom: number;
}

type Ranged = Pick<TracePicture, 'least' | 'greatest'> & Partial<Pick<TracePicture, 'low' | 'high'>>;

/** Below this share of the whole range, what is in view would be drawn too flat to be read. */
const FLAT_SHARE = 0.5;

/**
 * The range of the whole capture, so that moving in time does not move the scale; unless a few far values would leave
 * what is in view flat: then the range in view, without `fillings` (what modules send while they have no value).
 */
export function rangeOf(
  { least, greatest, low, high }: Ranged,
  fillings: readonly number[] = [],
): readonly [number, number] {
  const whole = greatest - least;
  let [from, to] = [Infinity, -Infinity];
  for (const value of low ?? []) if (value < from && !fillings.includes(value)) from = value;
  for (const value of high ?? []) if (value > to && !fillings.includes(value)) to = value;
  if (!(from < to) || !(to - from < FLAT_SHARE * whole)) return [least, greatest];
  const pad = (to - from) * 0.05;
  return [Math.max(least, from - pad), Math.min(greatest, to + pad)];
}

type Coded = Pick<MapSignal, 'coding' | 'kind' | 'scale' | 'offset' | 'table'> & Placement;

/** Physical values of all bits set and of the codings' extremes: common fillings for "no data". None for short fields. */
export function fillingsOf(signal: Coded): number[] {
  const bits = placementLength(signal);
  if (signal.kind !== 'number' || bits < 8 || bits > 53 || signal.table) return [];
  const raws =
    signal.coding === 'signed'
      ? [-(2 ** (bits - 1)), 2 ** (bits - 1) - 1]
      : signal.coding === 'unsigned'
        ? [2 ** bits - 1]
        : [];
  return raws.map((raw) => raw * signal.scale + signal.offset);
}

/** A flat trace lies in the middle. */
export function scaleFor(picture: Ranged, top: number, bottom: number, fillings: readonly number[] = []): TraceScale {
  const [least, greatest] = rangeOf(picture, fillings);
  if (!Number.isFinite(least) || !Number.isFinite(greatest)) return { least: 0, greatest: 1, top, bottom };
  if (least === greatest) return { least: least - 1, greatest: greatest + 1, top, bottom };
  return { least, greatest, top, bottom };
}

export const heightOf = (scale: TraceScale, value: number): number =>
  scale.bottom - ((value - scale.least) / (scale.greatest - scale.least)) * (scale.bottom - scale.top);

/** [x, y, x, y, ...] with x in columns and y in pixels; a NaN pair lifts the pen at each gap. */
export function pointsOf(picture: TracePicture, scale: TraceScale, gaps: readonly Gap[]): number[] {
  const { columns } = picture.window;
  const cut = gapColumns({ window: picture.window, gaps });
  const points: number[] = [];
  const put = (x: number, value: number): void => void points.push(x, heightOf(scale, value));
  let before = Number.NaN;
  for (let column = 0; column < columns; column++) {
    const last = picture.last[column] as number;
    if (last !== last) {
      if (cut[column] && before === before) before = lift(points);
      continue;
    }
    // A value that held until now goes on level before it steps.
    if (before === before && before !== last) put(column, before);
    putRange(put, column, picture, before);
    put(column + 0.5, last);
    before = last;
  }
  if (before === before) put(columns, before);
  return points;
}

function lift(points: number[]): number {
  points.push(Number.NaN, Number.NaN);
  return Number.NaN;
}

/** The excursion within a column, nearest end first, so that the line crosses it once. */
function putRange(
  put: (x: number, value: number) => void,
  column: number,
  picture: TracePicture,
  before: number,
): void {
  const low = picture.low[column] as number;
  const high = picture.high[column] as number;
  if (low === high) return;
  const highFirst = Math.abs(before - high) < Math.abs(before - low);
  put(column + 0.2, highFirst ? high : low);
  put(column + 0.35, highFirst ? low : high);
}

/** Decimals that a scale can resolve over a span of values: 0.5 shows one, 0.0625 over 0..10 three. */
export function decimalsFor(scale: number, span: number): number {
  const size = Math.abs(scale);
  if (size === 0 || !Number.isFinite(size)) return 0;
  let needed = 0;
  while (needed < 6 && Math.abs(size * 10 ** needed - Math.round(size * 10 ** needed)) > 1e-6 * 10 ** needed * size)
    needed++;
  const useful = Math.max(0, Math.ceil(3 - Math.log10(Math.max(Math.abs(span), 1e-9))));
  return Math.min(needed, useful, 6);
}
