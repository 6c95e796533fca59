/** Two fields at the same moments: where the other is known to be fresh, and what the base showed so much earlier. */
import type { ComparedField } from './series.ts';

export interface Paired {
  /** [n] instants at which the other is fresh, ascending. */
  readonly atUs: Float64Array;
  /** [n] the base's and the other's values, or their places. */
  readonly x: Float64Array;
  readonly y: Float64Array;
}

export type Shown = 'value' | 'place';

/** Instants come in ascending order; only a leap of more knots is searched by halves. */
const NEARBY = 64;

/** Reads a field straight between its knots. */
export class ValueReader {
  private knot = 0;
  private readonly timeUs: Float64Array;
  private readonly shown: Float64Array;

  constructor({ knots }: ComparedField, by: Shown) {
    this.timeUs = knots.timeUs;
    this.shown = knots[by];
  }

  /** NaN outside and in silences. */
  at(atUs: number): number {
    this.seek(atUs);
    const { timeUs, shown, knot } = this;
    const [beforeUs, afterUs] = [timeUs[knot] as number, timeUs[knot + 1]];
    const here = shown[knot] as number;
    if (atUs === beforeUs) return here;
    if (atUs < beforeUs || afterUs === undefined) return Number.NaN;
    return here + ((atUs - beforeUs) / (afterUs - beforeUs)) * ((shown[knot + 1] as number) - here);
  }

  private seek(atUs: number): void {
    const { timeUs } = this;
    if ((timeUs[this.knot] as number) > atUs) this.knot = 0;
    if ((timeUs[Math.min(timeUs.length - 1, this.knot + NEARBY)] as number) < atUs) {
      let [low, high] = [this.knot, timeUs.length];
      while (high - low > 1) {
        const middle = (low + high) >> 1;
        if ((timeUs[middle] as number) <= atUs) low = middle;
        else high = middle;
      }
      this.knot = low;
    } else while (this.knot + 1 < timeUs.length && (timeUs[this.knot + 1] as number) <= atUs) this.knot++;
  }
}

/** chosen: which knots of the other, ascending. */
export function pairUp(
  base: ComparedField,
  other: ComparedField,
  chosen: Uint32Array,
  lagUs: number,
  by: Shown = 'value',
): Paired {
  const reader = new ValueReader(base, by);
  const { timeUs, [by]: shown } = other.knots;
  const [atUs, x, y] = [
    new Float64Array(chosen.length),
    new Float64Array(chosen.length),
    new Float64Array(chosen.length),
  ];
  let n = 0;
  for (const knot of chosen) {
    const hereUs = timeUs[knot] as number;
    const here = shown[knot] as number;
    const there = reader.at(hereUs - lagUs);
    if (Number.isNaN(there) || Number.isNaN(here)) continue;
    [atUs[n], x[n], y[n]] = [hereUs, there, here];
    n++;
  }
  return { atUs: atUs.subarray(0, n), x: x.subarray(0, n), y: y.subarray(0, n) };
}

/** Up to so many of a count, evenly over all. */
export function evenly(count: number, most: number): Uint32Array {
  const n = Math.min(count, most);
  return Uint32Array.from({ length: n }, (_, k) => Math.floor((k * count) / n));
}

/** [points] the value at each instant of a grid; NaN where it is not known. */
export function onGrid(field: ComparedField, stepUs: number, points: number): Float64Array {
  const reader = new ValueReader(field, 'value');
  return Float64Array.from({ length: points }, (_, k) => reader.at(k * stepUs));
}
