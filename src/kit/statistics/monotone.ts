/**
 * A rising or falling curve through scattered points, as few straight pieces: medians of groups of neighbours, made
 * monotone by pooling those that violate the order (Ayer, Brunk, Ewing, Reid and Silverman 1955), then thinned to the
 * knots that matter (Douglas and Peucker 1973, with distances taken along y).
 */
import { median } from './order.ts';

export type Knot = readonly [number, number];

/** [n] the nearest series to `values`, in weighted squares, that never falls. */
export function neverFalling(values: readonly number[], weights: readonly number[]): number[] {
  const blocks: { value: number; weight: number; count: number }[] = [];
  values.forEach((value, i) => {
    let block = { value, weight: weights[i] as number, count: 1 };
    for (let last = blocks.at(-1); last && last.value > block.value; last = blocks.at(-1)) {
      const weight = last.weight + block.weight;
      const pooled = (last.value * last.weight + block.value * block.weight) / weight;
      block = { value: pooled, weight, count: last.count + block.count };
      blocks.pop();
    }
    blocks.push(block);
  });
  return blocks.flatMap(({ value, count }) => new Array<number>(count).fill(value));
}

/** y on the straight piece around x; beyond the ends the last piece goes on. Needs two knots. */
export function alongKnots(knots: readonly Knot[], x: number): number {
  let piece = 1;
  while (piece < knots.length - 1 && x > (knots[piece] as Knot)[0]) piece++;
  const [x0, y0] = knots[piece - 1] as Knot;
  const [x1, y1] = knots[piece] as Knot;
  return y0 + ((x - x0) * (y1 - y0)) / (x1 - x0);
}

/** Knots without those that lie within `tolerance` of the piece that would be left. */
function thinned(knots: readonly Knot[], tolerance: number): Knot[] {
  const ends = [knots[0] as Knot, knots.at(-1) as Knot];
  if (knots.length < 3) return ends;
  // The ends are on the piece by making; in floating point they may miss it by a hair.
  const misses = knots.slice(1, -1).map(([x, y]) => Math.abs(y - alongKnots(ends, x)));
  const most = Math.max(...misses);
  if (most <= tolerance) return ends;
  const worst = misses.indexOf(most) + 1;
  return [...thinned(knots.slice(0, worst + 1), tolerance).slice(0, -1), ...thinned(knots.slice(worst), tolerance)];
}

const GROUPS = 24;
const GROUP_LEAST = 5;

/** Medians of groups of neighbours in x, ascending; equal x stay together. */
function groupedMedians(x: ArrayLike<number>, y: ArrayLike<number>): { knots: Knot[]; weights: number[] } {
  const order = Array.from({ length: x.length }, (_, i) => i).sort((a, b) => (x[a] as number) - (x[b] as number));
  const size = Math.max(GROUP_LEAST, Math.ceil(order.length / GROUPS));
  const knots: Knot[] = [];
  const weights: number[] = [];
  let group: number[] = [];
  order.forEach((at, i) => {
    group.push(at);
    const next = order[i + 1];
    const full = group.length >= size && x[next ?? at] !== x[at];
    if (!full && !(next === undefined && group.length >= GROUP_LEAST)) return;
    const middle = median(group.map((one) => x[one] as number));
    if (middle > (knots.at(-1)?.[0] ?? Number.NEGATIVE_INFINITY)) {
      knots.push([middle, median(group.map((one) => y[one] as number))]);
      weights.push(group.length);
    }
    group = [];
  });
  return { knots, weights };
}

/**
 * @param direction 1 for a curve that rises, -1 for one that falls
 * @param tolerance in units of y: bends smaller than this are left out
 * @returns knots ascending in x, strictly monotone in y; fewer than two where there is no such curve
 */
export function monotoneKnots(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  direction: 1 | -1,
  tolerance: number,
): Knot[] {
  const { knots, weights } = groupedMedians(x, y);
  if (knots.length < 2) return [];
  const level = neverFalling(
    knots.map((knot) => direction * knot[1]),
    weights,
  );
  const curve = thinned(
    knots.map(([at], i): Knot => [at, direction * (level[i] as number)]),
    tolerance,
  );
  return curve.filter((knot, i) => i === 0 || direction * (knot[1] - (curve[i - 1] as Knot)[1]) > 0);
}
