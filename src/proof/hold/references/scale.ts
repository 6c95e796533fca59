/**
 * One signal's scale and offset held against readings of the same quantity: a line through this capture's own pairs, with errors
 * that respect autocorrelation, rounding and the clock. A scale holds only where one off by a tenth would have been
 * refused. What both sides scatter flattens a line: the true slope lies between the line's and that over r2 (the bounds
 * of Frisch 1934, from memory), so the map's is refused only outside of both.
 */
import type { Random } from '../../../kit/random.ts';
import { studentQuantile } from '../../../kit/statistics/distributions.ts';
import { mean } from '../../../kit/statistics/order.ts';
import { fitDetail, type Detail } from '../../../reference/detail.ts';
import { squaredCorrelation } from '../../../reference/pairing.ts';
import { shiftAtClock } from '../../../reference/settled-clock.ts';
import { quantityOf } from '../../../reference/setting.ts';
import { bestShift, type Shift } from '../../../reference/shift.ts';
import { isCoarseSpeed } from '../../../reference/simple-scale.ts';
import type { ReferenceSeries } from '../../../reference/types.ts';
import * as limit from '../thresholds.ts';
import { countedFrom, type Counts } from '../counts.ts';
import { MOMENTS_MOST } from '../moments.ts';
import { notExercised, type Judgement } from '../told.ts';

const LAGS_S = [0, -0.25, 0.25, -0.5, 0.5, -1, 1, -1.5, 1.5, -2, 2];

/** Where dense readings and field go together best, near the clock. */
function ownShift(counts: Counts, series: ReferenceSeries, seS: number, random: Random): Shift {
  const { thin } = quantityOf(series);
  let best = { shiftS: 0, r2: -1 };
  for (const shiftS of LAGS_S) {
    const { r2, n } = squaredCorrelation(counts.grid, thin, shiftS);
    if (n >= 0.5 * thin.timeS.length && r2 > best.r2 + 1e-6) best = { shiftS, r2 };
  }
  const first = fitDetail(counts.grid, series, { shiftS: best.shiftS, seS: Number.POSITIVE_INFINITY }, random);
  if (!first) return { shiftS: 0, seS };
  return shiftAtClock(bestShift(counts.grid, series, best.shiftS, first.line), { shiftS: 0, seS });
}

const digits = (value: number, many = 4): string => String(Number(value.toPrecision(many)));

interface Line {
  readonly detail: Detail;
  /** As the map has it, in the same counts. */
  readonly counts: Counts;
  readonly series: ReferenceSeries;
}

/** Readings far from what the map says, the first of them: seconds of the capture. */
function momentsOf({ detail: { pairs, shiftS }, counts: { scale, offset } }: Line, beyond: number): number[] {
  return [...pairs.y.keys()]
    .filter((i) => Math.abs((pairs.y[i] as number) - offset - scale * (pairs.x[i] as number)) > beyond)
    .slice(0, MOMENTS_MOST)
    .map((i) => (pairs.timeS[i] as number) + shiftS);
}

/** What reference and vehicle may differ by, as a share of the value. */
function meterShare({ name, unit }: ReferenceSeries): number {
  if (!isCoarseSpeed(name, unit)) return limit.METER_SHARE;
  return /dash|display|speedo/i.test(name) ? limit.DISPLAY_SHARE : limit.COARSE_METER_SHARE;
}

/** How far the line through the readings is from the map's, and how far it may be. */
function comparedOf({ detail, counts, series }: Line) {
  const { line, independent, scaleSe, offsetSe } = detail;
  const degrees = Math.max(1, independent);
  const clearly = studentQuantile(limit.CLEARLY, degrees);
  const share = meterShare(series);
  const [ratio, ratioSe] = [line.scale / counts.scale, scaleSe / Math.abs(counts.scale)];
  const steepest = ratio / Math.max(limit.TIE_LEAST, line.r2);
  return {
    ratio,
    clearHalf: clearly * ratioSe,
    off: Math.max(0, Math.min(ratio, steepest) - 1, 1 - Math.max(ratio, steepest)),
    room: share + clearly * ratioSe,
    usualRoom: share + studentQuantile(0.975, degrees) * ratioSe,
    uncertain: share + clearly * ratioSe + Math.abs(steepest - ratio),
    height: line.offset - counts.offset,
    heightHalf: clearly * offsetSe,
    heightRoom: share * Math.abs(counts.offset) + Math.abs(counts.scale) + clearly * offsetSe,
    figures: {
      scaleRatio: ratio,
      scaleRatioSe: ratioSe,
      offsetError: line.offset - counts.offset,
      offsetErrorSe: offsetSe,
      readings: line.n,
    },
  };
}

function judged(own: Line): Judgement {
  const { name, unit } = own.series;
  const { ratio, clearHalf, off, room, usualRoom, uncertain, height, heightHalf, heightRoom, figures } =
    comparedOf(own);
  const over = `over ${figures.readings} readings`;
  const slope = `${name} changes ${digits(ratio)} ± ${digits(clearHalf, 2)} times as much as the map says`;
  const level = `${name} lies ${digits(height)} ± ${digits(heightHalf, 2)} ${unit} from the ${digits(own.counts.offset)} ${unit} of the map`;
  const [isScaleOff, isHeightOff] = [off > room, Math.abs(height) > heightRoom];
  if (isScaleOff || isHeightOff) {
    const beyond = Math.max(heightRoom, 3 * own.detail.line.residualSd);
    const detail = `${[isScaleOff && slope, isHeightOff && level].filter(Boolean).join('; ')}, ${over}`;
    return { verdict: 'fails', detail, figures, moments: momentsOf(own, beyond) };
  }
  if (uncertain > limit.SCALE_TOLD || off > usualRoom)
    return notExercised(
      `${name} leaves the scale open by ${digits(100 * uncertain, 2)} %, ${over}: record it over a wider range`,
      figures,
    );
  return { verdict: 'holds', detail: `${slope}, ${over}`, figures, moments: [] };
}

export interface Asked {
  readonly counts: Counts;
  /** On the capture's clock and in the map's unit. */
  readonly series: ReferenceSeries;
  /** When few readings were taken; null for dense ones, which tell it themselves. */
  readonly few: Shift | null;
  /** Standard error of the clock, seconds. */
  readonly seS: number;
  /** Whether the map's own evidence names the quantity, so that not going with it is a fault. */
  readonly isNamed: boolean;
}

/** O(readings x lags). */
export function judgeScale({ counts, series, few, seS, isNamed }: Asked, random: Random): Judgement {
  const shift = few ?? ownShift(counts, series, seS, random);
  const first = fitDetail(counts.grid, series, shift, random);
  if (!first || first.pairs.x.length < limit.READINGS_NEEDED)
    return notExercised(`only ${first?.pairs.x.length ?? 0} readings of ${series.name} while it was sent`);
  if (first.bent) return notExercised(`it goes with ${series.name}, but not in a straight line`);
  const centred = countedFrom(counts, Math.round(mean(first.pairs.x)));
  const detail = fitDetail(centred.grid, series, shift, random);
  if (!detail || detail.bent) return notExercised(`it goes with ${series.name}, but not in a straight line`);
  if (detail.line.r2 >= limit.TIE_LEAST) return judged({ detail, counts: centred, series });
  const parted =
    isNamed && few === null && detail.line.r2 < limit.NO_TIE && detail.independent >= limit.INDEPENDENT_FOR_CLOCK;
  if (!parted) return notExercised(`it hardly goes with ${series.name} here (r2 ${digits(detail.line.r2, 2)})`);
  return {
    verdict: 'fails',
    detail: `it does not go with ${series.name}, which it was fitted to (r2 ${digits(detail.line.r2, 2)} over ${detail.line.n} readings)`,
    figures: { r2: detail.line.r2, readings: detail.line.n },
    moments: momentsOf({ detail, counts: centred, series }, 3 * Math.abs(counts.scale)),
  };
}
