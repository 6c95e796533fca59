/**
 * Physical = coded x scale + offset, or by table, linear between its points. Outside its table a value
 * is missing: nothing was measured there. `Scaling` goes both ways; back it goes to the nearest coded value.
 */
import type { MapSignal } from './schema.ts';

export interface Scaling {
  /** NaN for NaN, and outside a table. */
  toPhysical(coded: number): number;
  /** The coded value, not yet rounded; NaN where none stands for it. */
  toCoded(physical: number): number;
}

export type TablePoints = readonly (readonly [number, number])[];

/** y at x on straight lines between points that ascend in x; NaN outside them. */
function interpolate(xs: readonly number[], ys: readonly number[], x: number): number {
  const last = xs.length - 1;
  if (!(x >= (xs[0] as number) && x <= (xs[last] as number))) return Number.NaN;
  let low = 0;
  let high = last;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((xs[middle] as number) <= x) low = middle;
    else high = middle;
  }
  const [x0, x1] = [xs[low] as number, xs[high] as number];
  const [y0, y1] = [ys[low] as number, ys[high] as number];
  if (x === x1 || x1 === x0) return y1;
  return y0 + ((x - x0) * (y1 - y0)) / (x1 - x0);
}

/** 1 rising, -1 falling, 0 neither: such a table cannot be read backwards. */
export function tableDirection(points: TablePoints): 1 | -1 | 0 {
  const steps = points.slice(1).map((point, i) => Math.sign(point[1] - (points[i] as readonly [number, number])[1]));
  if (points.length === 1 || steps.every((step) => step === 1)) return 1;
  return steps.every((step) => step === -1) ? -1 : 0;
}

function tableScaling(points: TablePoints): Scaling {
  const raws = points.map((point) => point[0]);
  const values = points.map((point) => point[1]);
  const direction = tableDirection(points);
  const [upRaws, upValues] = direction < 0 ? [raws.toReversed(), values.toReversed()] : [raws, values];
  return {
    toPhysical: (coded) => interpolate(raws, values, coded),
    toCoded: (physical) => (direction === 0 ? Number.NaN : interpolate(upValues, upRaws, physical)),
  };
}

function linearScaling(scale: number, offset: number): Scaling {
  if (offset !== 0) {
    // The added zero turns a negative zero into a plain one.
    return { toPhysical: (coded) => coded * scale + offset, toCoded: (physical) => (physical - offset) / scale + 0 };
  }
  // Without an offset a zero keeps its sign, so that the negative zero of sign and magnitude comes back as it was.
  return {
    toPhysical: (coded) => (coded === 0 ? coded : coded * scale),
    toCoded: (physical) => (physical === 0 ? physical : physical / scale),
  };
}

export function scalingOf(signal: Pick<MapSignal, 'scale' | 'offset' | 'table'>): Scaling {
  if (signal.table && signal.table.length > 0) return tableScaling(signal.table);
  return linearScaling(signal.scale, signal.offset);
}
