/**
 * Whether the marks' clock runs faster or slower than the capture's: one slope through the answers' lags over time, while each action's beginnings and ends
 * have a lag of their own (analysis of covariance). People now and then mark early or something else, so far lags lose weight (Tukey's biweight,
 * Beaton and Tukey 1974), and a press and its release err together, so that the slope's error is taken over marks (Liang and Zeger 1986).
 * Told only where the slope is beyond its own error.
 */
import { median, robustSd } from '../kit/statistics/order.ts';
import { studentQuantile } from '../kit/statistics/distributions.ts';
import type { Drift } from './types.ts';

export interface TimedLag {
  /** When the mark was made, seconds on the capture's clock. */
  readonly atS: number;
  readonly lagS: number;
  /** What is answered: lags of one kind have one mean. */
  readonly kind: string;
  /** The mark; a press and its release are one. */
  readonly mark: string;
}

const KIND_LEAST = 3;
const MARKS_LEAST = 8;
/** Clocks of people run off by less than this. */
const PPM_MOST = 4000;
/** Slopes are tried so closely that lags part by no more than this over the recording. */
const TRIED_S = 0.05;
/** Biweight's usual constant: 95 in 100 as good as a mean where errors are normal. */
const FAR = 4.685;
/** Reactions spread by no less. */
const SPREAD_LEAST_S = 0.02;
const ROUNDS = 12;
/** Chance of a claim where clocks keep step. */
const FALSE_SHARE = 0.004;

interface Kinds {
  readonly lags: readonly TimedLag[];
  /** [kinds] indices of its lags. */
  readonly of: readonly (readonly number[])[];
}

function kindsOf(all: readonly TimedLag[]): Kinds {
  const names = [...new Set(all.map(({ kind }) => kind))];
  const enough = names.filter((name) => all.filter(({ kind }) => kind === name).length >= KIND_LEAST);
  const lags = all.filter(({ kind }) => enough.includes(kind));
  return { lags, of: enough.map((name) => lags.flatMap(({ kind }, index) => (kind === name ? [index] : []))) };
}

/** [lags] what a slope leaves open of them, each kind about its median. */
function leftBy({ lags, of }: Kinds, slope: number): Float64Array {
  const left = Float64Array.from(lags, ({ atS, lagS }) => lagS - slope * atS);
  for (const own of of) {
    const middle = median(own.map((index) => left[index] as number));
    for (const index of own) left[index] = (left[index] as number) - middle;
  }
  return left;
}

/** The slope that leaves least, far lags counting no more than a reaction's width. */
function roughSlope(kinds: Kinds, overS: number): number {
  const steps = Math.ceil((PPM_MOST * 1e-6 * overS) / TRIED_S);
  let [best, least] = [0, Number.POSITIVE_INFINITY];
  for (let step = -steps; step <= steps; step++) {
    const slope = (step / Math.max(1, steps)) * PPM_MOST * 1e-6;
    const cost = leftBy(kinds, slope).reduce((sum, left) => sum + Math.min(Math.abs(left), 0.3), 0);
    if (cost < least) [best, least] = [slope, cost];
  }
  return best;
}

interface Slope {
  readonly slope: number;
  readonly se: number;
  readonly degrees: number;
}

function fineSlope({ lags, of }: Kinds, rough: number): Slope | null {
  let slope = rough;
  let left = leftBy({ lags, of }, slope);
  const spreadS = Math.max(SPREAD_LEAST_S, robustSd(left));
  const weight = new Float64Array(lags.length);
  const x = new Float64Array(lags.length);
  for (let round = 0; round < ROUNDS; round++) {
    left.forEach(
      (each, i) => (weight[i] = Math.abs(each) < FAR * spreadS ? (1 - (each / (FAR * spreadS)) ** 2) ** 2 : 0),
    );
    const next = Float64Array.from(left);
    let [xx, xy] = [0, 0];
    const middles = of.map((own) => {
      const total = own.reduce((sum, i) => sum + (weight[i] as number), 0) || 1;
      const at = own.reduce((sum, i) => sum + (weight[i] as number) * (lags[i] as TimedLag).atS, 0) / total;
      const lag = own.reduce((sum, i) => sum + (weight[i] as number) * (lags[i] as TimedLag).lagS, 0) / total;
      for (const i of own) {
        x[i] = (lags[i] as TimedLag).atS - at;
        xx += (weight[i] as number) * (x[i] as number) ** 2;
        xy += (weight[i] as number) * (x[i] as number) * ((lags[i] as TimedLag).lagS - lag);
      }
      return lag;
    });
    if (!(xx > 0)) return null;
    slope = xy / xx;
    of.forEach((own, kind) => {
      for (const i of own) next[i] = (lags[i] as TimedLag).lagS - (middles[kind] as number) - slope * (x[i] as number);
    });
    left = next;
  }
  return errorOf({ lags, of }, slope, left, weight, x, spreadS);
}

function errorOf(
  { lags, of }: Kinds,
  slope: number,
  left: Float64Array,
  weight: Float64Array,
  x: Float64Array,
  spreadS: number,
): Slope {
  const pull = new Map<string, number>();
  let stiffness = 0;
  lags.forEach(({ mark }, i) => {
    pull.set(mark, (pull.get(mark) ?? 0) + (weight[i] as number) * (left[i] as number) * (x[i] as number));
    const u2 = ((left[i] as number) / (FAR * spreadS)) ** 2;
    if (u2 < 1) stiffness += (1 - u2) * (1 - 5 * u2) * (x[i] as number) ** 2;
  });
  const marks = new Set(lags.filter((_, i) => (weight[i] as number) > 0).map(({ mark }) => mark)).size;
  const degrees = marks - of.length - 1;
  const squares = [...pull.values()].reduce((sum, each) => sum + each * each, 0) * (marks / Math.max(1, degrees));
  return { slope, se: Math.sqrt(squares) / stiffness, degrees };
}

export interface ClockSlope extends Omit<Drift, 'middleS'> {
  /** Beyond its own error, so that the clocks may be said to drift. */
  readonly isTold: boolean;
}

/** Null where there is too little to say. */
export function slopeOf(all: readonly TimedLag[]): ClockSlope | null {
  const kinds = kindsOf(all);
  const times = kinds.lags.map(({ atS }) => atS);
  if (new Set(kinds.lags.map(({ mark }) => mark)).size < MARKS_LEAST) return null;
  const overS = Math.max(...times) - Math.min(...times);
  const found = fineSlope(kinds, roughSlope(kinds, overS));
  if (!found || found.degrees < 3 || !(found.se > 0)) return null;
  const isTold = Math.abs(found.slope) > studentQuantile(1 - FALSE_SHARE / 2, found.degrees) * found.se;
  // A clock that runs fast is ahead by more each time: less must be added to its marks.
  return { ppm: -found.slope * 1e6, sePpm: found.se * 1e6, overS, isTold };
}

/** Where an instant of a drifting clock lies once it is straightened; both in seconds on the capture's clock, offset and all. */
export const straightened = (atS: number, { ppm, middleS }: Pick<Drift, 'ppm' | 'middleS'>): number =>
  atS - ppm * 1e-6 * (atS - middleS);

/** The other way round. */
export const unstraightened = (atS: number, { ppm, middleS }: Pick<Drift, 'ppm' | 'middleS'>): number =>
  middleS + (atS - middleS) / (1 - ppm * 1e-6);
