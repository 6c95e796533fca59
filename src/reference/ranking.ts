/**
 * Which field a reference belongs to, and which others go with it as well. Fields are compared two at a time on the readings that
 * both have, by what each leaves over once its own rounding is taken out: a coarse field of the quantity itself
 * may leave more than a fine one of something close. How sure the difference is follows from its spread over the readings
 * (the paired comparison of Vuong 1989); a handful of readings is judged over all lags instead. Where that does not decide, a round scale and a field in step with the clock do.
 */
import { varianceOfSum } from '../kit/statistics/autocorrelation.ts';
import { residualSpread } from '../kit/statistics/robust-line.ts';
import type { DetailedTrial } from './detailed.ts';
import type { Shift } from './shift.ts';
import { simpleScaleNear, simpleScalesAbout } from './simple-scale.ts';

const R2_SHOWN = 0.3;
const NATS_PER_DECADE = Math.LN10;
/** Between frames a value is taken straight from two, whose roundings partly cancel. */
const ROUNDING = 2 / 3 / 12;
/** Rounding is no more than this share of what a field leaves: a coarse one that follows nothing is not excused. */
const ROUNDING_MOST = 0.5;
/** Late by so much is nothing: half of the time between quick frames. */
const LATE_S = 0.015;
/** Odds of ten to one: below it two fields cannot be told apart. */
export const AS_GOOD_NATS = Math.LN10;

export interface Ranked {
  readonly one: DetailedTrial;
  /** Nats that speak against it and for the first. */
  readonly behind: number;
}

/** How much a scale that lies on a round one speaks for its field, nats: the rarer by luck, the more. */
function simplicity({ detail }: DetailedTrial): number {
  const { scale } = detail.line;
  if (detail.bent) return 0;
  const simple = simpleScaleNear(scale, detail.scaleHalf);
  if (simple === null) return 0;
  const byLuck =
    (simpleScalesAbout(simple) * 2 * Math.max(detail.scaleHalf / Math.abs(scale), 0.001)) / NATS_PER_DECADE;
  return Math.max(0, -Math.log(byLuck));
}

/** What a curve's knots beyond a line's two cost it, nats: Schwarz 1978. */
const costOfKnots = ({ detail: { bent, independent } }: DetailedTrial): number =>
  bent ? 0.5 * (bent.table.length - 2) * Math.log(Math.max(Math.E, independent)) : 0;

/** How unlikely a field so far out of step with the readings' clock is, nats: the tail of a Cauchy, as some are late. */
function costOfLag({ own }: DetailedTrial, clock: Shift | null): number {
  if (!clock || !Number.isFinite(own.seS)) return 0;
  return Math.log(1 + (own.shiftS - clock.shiftS) ** 2 / (LATE_S ** 2 + own.seS ** 2 + clock.seS ** 2));
}

interface Left {
  /** What a field leaves over of each reading, squared, wild ones up to a limit, by the reading's stamp. */
  readonly squares: ReadonlyMap<number, number>;
  /** How much of each is its own rounding. */
  readonly rounding: number;
  readonly independent: number;
}

function leftBy({ detail: { residual, pairs, line, bent, independent } }: DetailedTrial, limit: number): Left {
  const squares = new Map<number, number>();
  let sum = 0;
  residual.forEach((value, i) => {
    const square = Math.min(limit, Math.abs(value)) ** 2;
    squares.set(pairs.timeS[i] as number, square);
    sum += square;
  });
  const rounding = bent ? 0 : Math.min(ROUNDING * line.scale ** 2, (ROUNDING_MOST * sum) / residual.length);
  return { squares, rounding, independent };
}

interface Difference {
  readonly mean: number;
  readonly nats: number;
}

/**
 * By how much `other` leaves more than `best` on readings that both have, and what that says, nats: the log likelihood ratio of
 * normal errors, but no more than the difference's own spread over the readings allows (Student's t, as they may be few).
 */
function difference(best: Left, other: Left): Difference {
  const shared: number[] = [];
  let ofBest = 0;
  for (const [timeS, square] of other.squares) {
    const against = best.squares.get(timeS);
    if (against === undefined) continue;
    shared.push(square - other.rounding - against + best.rounding);
    ofBest += against - best.rounding;
  }
  const n = shared.length;
  if (n < 3) return { mean: 0, nats: 0 };
  const mean = shared.reduce((sum, value) => sum + value, 0) / n;
  const centred = Float64Array.from(shared, (value) => value - mean);
  const even = centred.reduce((sum, value) => sum + value * value, 0);
  const variance = Math.max(even, varianceOfSum(centred)) / (n * (n - 1));
  const likelihood =
    0.5 * Math.min(best.independent, other.independent) * Math.log(1 + mean / Math.max(ofBest / n, 1e-24));
  if (!(mean > 0)) return { mean, nats: 0 };
  // Twice the difference lies between the one being right and the other.
  const t = (2 * mean) / Math.sqrt(Math.max(variance, Number.MIN_VALUE));
  return { mean, nats: Math.min(likelihood, (n / 2) * Math.log(1 + t ** 2 / (n - 1))) };
}

/** Best first. clock: of the readings, or null where it is not known. */
export function ranked(details: readonly DetailedTrial[], clock: Shift | null): Ranked[] {
  const able = details.filter(
    ({ detail }) => detail.line.scale !== 0 && (detail.bent !== null || detail.line.r2 >= R2_SHOWN),
  );
  if (able.length === 0) return [];
  const limit = Math.max(4 * Math.min(...able.map(({ detail }) => residualSpread(detail.residual))), 1e-12);
  const left = able.map((one) => leftBy(one, limit));
  let best = left[0] as Left;
  for (const one of left) if (difference(best, one).mean < 0) best = one;
  const most = Math.max(...able.map((one) => one.overLags ?? 0));
  const losses = able.map(
    (one, i): number =>
      (one.overLags === null ? difference(best, left[i] as Left).nats : most - one.overLags) -
      simplicity(one) +
      costOfKnots(one) +
      costOfLag(one, clock),
  );
  const least = Math.min(...losses);
  return able.map((one, i) => ({ one, behind: (losses[i] as number) - least })).sort((a, b) => a.behind - b.behind);
}
