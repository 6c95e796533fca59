/**
 * Whether two fields that move often show the same number: the lag at which one follows the other best, a straight line between them at that
 * lag, and what the line leaves over (`left-over.ts` judges that).
 */
import type { Random } from '../../kit/random.ts';
import { effectiveCount } from '../../kit/statistics/autocorrelation.ts';
import { lagOneCorrelation, pearson } from '../../kit/statistics/correlation.ts';
import { residualSpread, robustLine } from '../../kit/statistics/robust-line.ts';
import { quantileSorted, sorted } from '../../kit/statistics/order.ts';
import { copied, type Copied } from './copied.ts';
import { drifting, FAR, filtered, forgetting } from './left-over.ts';
import { evenly, pairUp, ValueReader, type Paired } from './pairs.ts';
import type { ComparedField } from './series.ts';

export interface NumberTie extends Copied {
  readonly scale: number;
  readonly scaleSe: number;
  readonly offset: number;
  readonly offsetSe: number;
  /** By how much the other shows it later than the base. */
  readonly lagUs: number;
  readonly lagSeUs: number;
  /** Pairs of values compared. */
  readonly n: number;
  /** Share of the other's variance that the line leaves, without points far off. */
  readonly unexplained: number;
  /** Share of points far off the line. */
  readonly apart: number;
  /** Share of points that are so by more than reading the base between two of its frames explains. */
  readonly jumps: number;
  /** What successive differences tell of the variance left: near 1 for rounding and noise, near 0 for something that drifts. */
  readonly forgets: number;
  /** Share of the variance left that lies between stretches of the capture; 0 where chance would make as much. */
  readonly drifts: number;
  /** Share of the variance left that goes with how the base bends, as a filter leaves it. */
  readonly filtered: number;
  /** The variance left over that of rounding both. */
  readonly rounding: number;
  /** A step of the coarser of the two, in the other's values. */
  readonly coarserStep: number;
}

const SCAN_KNOTS = 200;
const FINE_KNOTS = 400;
const FIT_KNOTS = 800;
const UPDATES = 400;
const PAIRS_LEAST = 30;
const LAG_MOST_US = 1_000_000;
const LAG_STEP_US = 50_000;
const FINE_US = 10_000;
const SLOPE_US = 2_000;
/** Ranks that go together less than this at the best lag are not worth a line. */
const GOES_TOGETHER = 0.7;
/** Half a rough step beside the best lag they go together so much less. */
const ROUGH_LESS = 0.2;
/** Share of values at either end that do not make the spread. */
const TAIL = 0.05;
/** Standard deviation of a rounding error of one step: 1/sqrt(12). */
const ROUNDING = 1 / Math.sqrt(12);

interface Lag {
  readonly lagUs: number;
  readonly goesTogether: number;
}

/** The lag at which ranks go together best: wild values cannot carry it. */
function bestLag(base: ComparedField, other: ComparedField): Lag | null {
  const [few, more] = [SCAN_KNOTS, FINE_KNOTS].map((most) => evenly(other.knots.timeUs.length, most));
  const at = (lagUs: number, chosen: Uint32Array): number => {
    const { x, y } = pairUp(base, other, chosen, lagUs, 'place');
    return x.length < PAIRS_LEAST ? 0 : pearson(x, y) ** 2;
  };
  const scan = (from: number, reach: number, step: number, chosen: Uint32Array): Lag => {
    let best: Lag = { lagUs: from, goesTogether: at(from, chosen) };
    for (let lagUs = from - reach; lagUs <= from + reach; lagUs += step) {
      const goesTogether = at(lagUs, chosen);
      if (goesTogether > best.goesTogether) best = { lagUs, goesTogether };
    }
    return best;
  };
  const rough = scan(0, LAG_MOST_US, LAG_STEP_US, few as Uint32Array);
  if (rough.goesTogether < GOES_TOGETHER - ROUGH_LESS) return null;
  const best = scan(rough.lagUs, LAG_STEP_US - FINE_US, FINE_US, more as Uint32Array);
  if (best.goesTogether < GOES_TOGETHER) return null;
  const [before, after] = [best.lagUs - FINE_US, best.lagUs + FINE_US].map((lagUs) =>
    at(lagUs, more as Uint32Array),
  ) as [number, number];
  const bend = before - 2 * best.goesTogether + after;
  const moved = bend < 0 ? (0.5 * (before - after)) / bend : 0;
  return { ...best, lagUs: best.lagUs + FINE_US * Math.max(-0.5, Math.min(0.5, moved)) };
}

type Residuals = (pairs: Paired) => Float64Array;

/** A prediction beyond what the other ever showed is held at its end: there its value is cut off. */
const residualsOf =
  (scale: number, offset: number, { least, greatest }: ComparedField): Residuals =>
  ({ x, y }) =>
    y.map((value, k) => value - Math.min(greatest, Math.max(least, offset + scale * (x[k] as number))));

/** Knots in twos, each with the next: between them nothing is shown anew. */
function neighbours({ knots }: ComparedField): Uint32Array {
  const chosen: number[] = [];
  for (const first of evenly(Math.max(0, knots.timeUs.length - 1), UPDATES))
    for (const knot of [first, first + 1]) if (knot > (chosen.at(-1) ?? -1)) chosen.push(knot);
  return Uint32Array.from(chosen);
}

/** Of the middle of the values: what stands apart for a while, at a start or in a pause, would make all else look alike. */
function varianceOf(values: Float64Array): number {
  const ascending = sorted(values);
  const [low, high] = [quantileSorted(ascending, TAIL), quantileSorted(ascending, 1 - TAIL)];
  const kept = values.map((value) => Math.min(high, Math.max(low, value)));
  const middle = kept.reduce((sum, value) => sum + value / kept.length, 0);
  return kept.reduce((sum, value) => sum + (value - middle) ** 2 / kept.length, 0);
}

/** How far the lag may be off: what the residuals move it by, over how fast the value goes. */
function lagError({ atUs, x }: Paired, scale: number, residual: Float64Array, spread: number): number {
  let [speed, count] = [0, 0];
  for (let k = 1; k < x.length; k++) {
    const stepUs = (atUs[k] as number) - (atUs[k - 1] as number);
    if (stepUs <= 0) continue;
    speed += ((scale * ((x[k] as number) - (x[k - 1] as number))) / stepUs) ** 2;
    count++;
  }
  const independent = effectiveCount(residual.length, lagOneCorrelation(residual));
  return speed > 0 ? spread / (Math.sqrt(speed / count) * Math.sqrt(independent)) : Infinity;
}

/** By how much the lag is off, by what the line leaves where the value goes fast: one step of Gauss and Newton. */
function lagMissedBy(
  base: ComparedField,
  { atUs, x }: Paired,
  lagUs: number,
  scale: number,
  left: Float64Array,
): number {
  const reader = new ValueReader(base, 'value');
  let [product, squares] = [0, 0];
  atUs.forEach((here, k) => {
    const later = reader.at(here - lagUs + SLOPE_US);
    const slope = (scale * (later - (x[k] as number))) / SLOPE_US;
    if (Number.isNaN(slope) || Number.isNaN(left[k] as number)) return;
    product += slope * (left[k] as number);
    squares += slope * slope;
  });
  return squares > 0 ? Math.max(-FINE_US / 2, Math.min(FINE_US / 2, product / squares)) : 0;
}

function missedBy(base: ComparedField, other: ComparedField, pairs: Paired, lagUs: number, random: Random): number {
  const { scale, offset } = robustLine(pairs.x, pairs.y, random, false);
  const left = residualsOf(scale, offset, other)(pairs);
  const far = FAR * Math.max(residualSpread(left), ROUNDING * other.quantum);
  const near = left.map((value) => (Math.abs(value) > far ? Number.NaN : value));
  return lagMissedBy(base, pairs, lagUs, scale, near);
}

/** Points off the line by more than the base moves from one of its frames to the next: so much is lost by reading between them. */
function farOff(
  base: ComparedField,
  { atUs, x }: Paired,
  lagUs: number,
  scale: number,
  left: Float64Array,
  far: number,
): number {
  const reader = new ValueReader(base, 'value');
  const moved = (atFrameUs: number, here: number): number => {
    const there = reader.at(atFrameUs);
    return Number.isNaN(there) ? 0 : Math.abs(scale * (there - here));
  };
  return left.filter((value, k) => {
    if (Math.abs(value) <= far) return false;
    const [thereUs, here] = [(atUs[k] as number) - lagUs, x[k] as number];
    return Math.abs(value) > far + Math.max(moved(thereUs - base.periodUs, here), moved(thereUs + base.periodUs, here));
  }).length;
}

/** null where ranks do not go together or too few values meet. */
export function tieNumbers(base: ComparedField, other: ComparedField, random: Random): NumberTie | null {
  const rough = bestLag(base, other);
  if (!rough) return null;
  const chosen = evenly(other.knots.timeUs.length, FIT_KNOTS);
  const first = pairUp(base, other, chosen, rough.lagUs);
  if (first.x.length < PAIRS_LEAST) return null;
  const lag = { lagUs: rough.lagUs - missedBy(base, other, first, rough.lagUs, random) };
  const pairs = pairUp(base, other, chosen, lag.lagUs);
  const line = robustLine(pairs.x, pairs.y, random, true);
  const { scale, offset } = line;
  if (!Number.isFinite(scale) || scale === 0) return null;
  const residuals = residualsOf(scale, offset, other);
  const all = residuals(pairs);
  const spread = Math.max(residualSpread(all), ROUNDING * other.quantum);
  const far = FAR * spread;
  const near = all.filter((value) => Math.abs(value) <= far);
  const left = near.reduce((sum, value) => sum + value ** 2 / near.length, 0);
  const rounded = (other.quantum ** 2 + (scale * base.quantum) ** 2) / 12;
  return {
    scale,
    scaleSe: line.scaleSe,
    offset,
    offsetSe: line.offsetSe,
    lagUs: lag.lagUs,
    lagSeUs: Math.max(0.1 * Math.max(base.periodUs, other.periodUs), lagError(pairs, scale, all, spread)),
    n: pairs.x.length,
    unexplained: left / Math.max(varianceOf(pairs.y), Number.MIN_VALUE),
    apart: 1 - near.length / all.length,
    jumps: farOff(base, pairs, lag.lagUs, scale, all, far) / all.length,
    forgets: forgetting(residuals(pairUp(base, other, neighbours(other), lag.lagUs)), spread),
    drifts: drifting(near),
    filtered: filtered(
      base,
      pairs,
      lag.lagUs,
      scale,
      all.map((value) => (Math.abs(value) <= far ? value : Number.NaN)),
    ),
    rounding: left / Math.max(rounded, Number.MIN_VALUE),
    coarserStep: Math.max(other.quantum, Math.abs(scale) * base.quantum),
    ...copied(base, other, pairs, { lagUs: lag.lagUs, scale }, all, far),
  };
}
