/**
 * Ties that only rise or only fall but are no line, as of a thermistor: whether a field's readings follow such a curve
 * clearly better than the line on stretches of time that had no part in making it, and the curve as the map's table.
 * Told by Spearman's rank correlation, which a bend does not lower.
 */
import { spearman } from '../kit/statistics/correlation.ts';
import type { Line } from '../kit/statistics/line.ts';
import { residualSpread } from '../kit/statistics/robust-line.ts';
import { alongKnots, monotoneKnots, type Knot } from '../kit/statistics/monotone.ts';
import type { Pairs } from './pairing.ts';

export interface Bent {
  /** Ascending raw values with what they stand for, strictly rising or falling. */
  readonly table: readonly Knot[];
  readonly residual: Float64Array;
  readonly residualSd: number;
  /** Spearman's. */
  readonly rank: number;
}

const READINGS_LEAST = 60;
const RANK_LEAST = 0.95;
const STRETCHES = 8;
/** On stretches left out, the curve's residuals are at most this share of the line's. */
const LEFT_OF_LINE = 0.7;
/** Bends below this share of the residuals' spread are noise. */
const BEND_SHARE = 0.5;
const RAW_VALUES_LEAST = 12;

const missesOf = ({ x, y }: Pairs, at: (x: number) => number): Float64Array =>
  y.map((value, i) => value - at(x[i] as number));

function partOf({ timeS, x, y }: Pairs, keeps: (i: number) => boolean): Pairs {
  const pick = (values: Float64Array): Float64Array => values.filter((_, i) => keeps(i));
  return { timeS: pick(timeS), x: pick(x), y: pick(y) };
}

/** Smooth curve first, to learn how much the readings scatter; then its knots by that scatter. */
function curveOf(pairs: Pairs, direction: 1 | -1): Knot[] {
  const full = monotoneKnots(pairs.x, pairs.y, direction, 0);
  if (full.length < 2) return [];
  const spread = residualSpread(missesOf(pairs, (x) => alongKnots(full, x)));
  return monotoneKnots(pairs.x, pairs.y, direction, BEND_SHARE * spread);
}

/** Spread of what curves leave over on the stretches they were not made from; infinite where one cannot be made. */
function spreadLeftOut(pairs: Pairs, direction: 1 | -1): number {
  const stretchOf = (i: number): number => Math.floor((i * STRETCHES) / pairs.x.length);
  const misses: number[] = [];
  for (const odd of [0, 1]) {
    const curve = curveOf(
      partOf(pairs, (i) => stretchOf(i) % 2 === odd),
      direction,
    );
    if (curve.length < 3) return Number.POSITIVE_INFINITY;
    const others = partOf(pairs, (i) => stretchOf(i) % 2 !== odd);
    misses.push(...missesOf(others, (x) => alongKnots(curve, x)));
  }
  return residualSpread(misses);
}

/** The ends moved out to the whole raw values seen: outside its table a value would be missing. */
function reachingAll(curve: readonly Knot[], x: Float64Array): Knot[] {
  const least = Math.floor(Math.min(...x));
  const greatest = Math.ceil(Math.max(...x));
  const inner = curve.slice(1, -1).map(([at]) => Math.round(at));
  const raws = [least, ...inner, greatest].filter((raw, i, all) => i === 0 || raw > (all[i - 1] as number));
  return raws.map((raw): Knot => [raw, alongKnots(curve, raw)]);
}

/** Null where a line does as well, or the tie is not told to be monotone. */
export function bentTie(pairs: Pairs, line: Line): Bent | null {
  if (pairs.x.length < READINGS_LEAST || new Set(pairs.x).size < RAW_VALUES_LEAST) return null;
  const rank = spearman(pairs.x, pairs.y);
  if (!(Math.abs(rank) >= RANK_LEAST)) return null;
  const direction = rank > 0 ? 1 : -1;
  const ofLine = residualSpread(missesOf(pairs, (x) => line.offset + line.scale * x));
  if (!(spreadLeftOut(pairs, direction) <= LEFT_OF_LINE * ofLine)) return null;
  const curve = curveOf(pairs, direction);
  if (curve.length < 3) return null;
  const table = reachingAll(curve, pairs.x);
  const residual = missesOf(pairs, (x) => alongKnots(table, x));
  return { table, residual, residualSd: residualSpread(residual), rank };
}
