/** Fits in the words of the map, best first. */
import { placeOfCandidate } from '../map/proposed-fields.ts';
import { residualSpread } from '../kit/statistics/line.ts';
import type { DetailedTrial } from './detailed.ts';
import { median } from '../kit/statistics/order.ts';
import { isCoarseSpeed, simpleOffsetNear, simpleScaleNear } from './simple-scale.ts';
import type { Fit, ReferenceSeries } from './types.ts';

const R2_SHOWN = 0.3;
const round = (value: number, digits: number): number =>
  Number.isFinite(value) ? Number(value.toPrecision(digits)) : value;

/** Mean squared residual, wild ones counted only up to the same limit for all fields. */
function leftOver({ detail }: DetailedTrial, limit: number): number {
  let sum = 0;
  for (const value of detail.residual) sum += Math.min(limit, Math.abs(value)) ** 2;
  return sum / detail.residual.length;
}

/** Round scales in a decade, about: how easily a scale that means nothing comes near one. */
const SIMPLE_PER_DECADE = 20;
const NATS_PER_DECADE = Math.LN10;

/** How much a scale that lies on a round one speaks for its field, nats: the rarer by luck, the more. */
function simplicity({ detail }: DetailedTrial): number {
  const { scale } = detail.line;
  if (detail.bent) return 0;
  const simple = simpleScaleNear(scale, detail.scaleHalf);
  if (simple === null) return 0;
  const byLuck = (SIMPLE_PER_DECADE * 2 * Math.max(detail.scaleHalf / Math.abs(scale), 0.001)) / NATS_PER_DECADE;
  return Math.max(0, -Math.log(byLuck));
}

/** What a curve's knots beyond a line's two cost it, nats: Schwarz 1978. */
const costOfKnots = ({ detail: { bent, independent } }: DetailedTrial): number =>
  bent ? 0.5 * (bent.table.length - 2) * Math.log(Math.max(Math.E, independent)) : 0;

/**
 * Best first: the log likelihood of what each field leaves over, with the number of independent residuals, and where that
 * does not decide (a pack's voltage and a cell's go together), the field whose scale is a round one.
 */
export function describeFits(details: readonly DetailedTrial[]): DetailedTrial[] {
  const able = details.filter(({ detail }) => detail.line.scale !== 0 && detail.line.r2 >= R2_SHOWN);
  if (able.length === 0) return [];
  const limit = Math.max(4 * Math.min(...able.map(({ detail }) => residualSpread(detail.residual))), 1e-12);
  const left = able.map((one) => Math.max(leftOver(one, limit), 1e-24));
  const least = Math.min(...left);
  const loss = (i: number): number => {
    const one = able[i] as DetailedTrial;
    return 0.5 * one.detail.independent * Math.log((left[i] as number) / least) - simplicity(one) + costOfKnots(one);
  };
  const order = able.map((_, i) => ({ i, loss: loss(i) })).sort((a, b) => a.loss - b.loss);
  return order.map(({ i }) => able[i] as DetailedTrial);
}

/** With the scale fixed, the offset is the middle of what is left, and its error that of a middle. */
function offsetFor(scale: number, { detail }: DetailedTrial): number {
  const { pairs, line, independent } = detail;
  const offset = median(pairs.y.map((y, i) => y - scale * (pairs.x[i] as number)));
  const half = (1.96 * 1.25 * line.residualSd) / Math.sqrt(Math.max(1, Math.min(independent, line.n)));
  return round(simpleOffsetNear(offset, half, scale), 8);
}

/** @param offsetS the clock offset reported: lags are against it */
export function toFit(
  { candidate, coding, detail }: DetailedTrial,
  series: ReferenceSeries,
  offsetS: number,
  tried: number,
): Fit {
  const { line, pairs, bent } = detail;
  const interval = (middle: number, half: number): [number, number] => [
    round(middle - half, 8),
    round(middle + half, 8),
  ];
  const coarse = isCoarseSpeed(series.name, series.unit);
  const simpleScale = coarse || bent ? null : simpleScaleNear(line.scale, detail.scaleHalf);
  return {
    ...placeOfCandidate(candidate),
    coding,
    scale: round(line.scale, 8),
    scaleSe: round(line.scaleSe, 4),
    offset: round(line.offset, 8),
    offsetSe: round(line.offsetSe, 4),
    simpleScale,
    simpleOffset: simpleScale === null ? null : offsetFor(simpleScale, { candidate, coding, detail }),
    // A field that answers before the reference is compared with the reference later.
    lagS: Math.round((offsetS - detail.shiftS) * 1000) / 1000,
    r2: round(line.r2, 6),
    n: line.n,
    scaleInterval: interval(line.scale, detail.scaleHalf),
    offsetInterval: interval(line.offset, detail.offsetHalf),
    residualSd: round(bent?.residualSd ?? line.residualSd, 4),
    range: { min: Math.min(...pairs.y), max: Math.max(...pairs.y) },
    chance: Math.min(1, detail.p * tried),
    ...(bent
      ? { table: bent.table.map(([raw, physical]) => [raw, round(physical, 5)] as const), rank: round(bent.rank, 4) }
      : {}),
  };
}
