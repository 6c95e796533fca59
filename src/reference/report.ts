/** Fits in the words of the map, best first. */
import { residualSpread } from '../kit/statistics/line.ts';
import type { DetailedTrial } from './fit.ts';
import { isCoarseSpeed, simpleScaleNear } from './simple-scale.ts';
import type { Fit, ReferenceSeries } from './types.ts';

const R2_SHOWN = 0.3;
const round = (value: number, digits: number): number =>
  Number.isFinite(value) ? Number(value.toPrecision(digits)) : value;

/** Share of the reference's variation left over, wild residuals counted only up to the same limit for all fields. */
function leftOver({ detail }: DetailedTrial, limit: number): number {
  const { residual, pairs } = detail;
  let middle = 0;
  for (const y of pairs.y) middle += y / pairs.y.length;
  let left = 0;
  let total = 0;
  pairs.y.forEach((y, i) => {
    left += Math.min(limit, Math.abs(residual[i] as number)) ** 2;
    total += (y - middle) ** 2;
  });
  return total > 0 ? left / total : 1;
}

/** Fields in the order of how little of the reference they leave unexplained. */
export function describeFits(details: readonly DetailedTrial[]): DetailedTrial[] {
  const narrowest = Math.min(...details.map(({ detail }) => residualSpread(detail.residual)));
  const limit = Math.max(6 * narrowest, 1e-12);
  const widest = Math.max(...details.map(({ detail }) => residualSpread(detail.residual)));
  const ceiling = Math.max(limit, widest);
  return details
    .filter(({ detail }) => detail.line.scale !== 0 && detail.line.r2 >= R2_SHOWN)
    .map((one) => ({ one, left: leftOver(one, ceiling) }))
    .sort((a, b) => a.left - b.left)
    .map(({ one }) => one);
}

/** @param offsetS the clock offset reported: lags are against it */
export function toFit(
  { candidate, coding, detail }: DetailedTrial,
  series: ReferenceSeries,
  offsetS: number,
  tried: number,
): Fit {
  const { frame, field } = candidate;
  const { line, pairs } = detail;
  const interval = (middle: number, half: number): [number, number] => [
    round(middle - half, 8),
    round(middle + half, 8),
  ];
  const coarse = isCoarseSpeed(series.name, series.unit);
  return {
    bus: frame.bus,
    id: frame.id,
    extended: frame.extended,
    field: field.name,
    lsb: { byte: field.lsb.byte, bit: field.lsb.bit },
    length: field.length,
    order: field.order,
    ...(field.continues ? { continues: field.continues } : {}),
    coding,
    when: field.when,
    scale: round(line.scale, 8),
    scaleSe: round(line.scaleSe, 4),
    offset: round(line.offset, 8),
    offsetSe: round(line.offsetSe, 4),
    simpleScale: coarse ? null : simpleScaleNear(line.scale, detail.scaleHalf),
    // A field that answers before the reference is compared with the reference later.
    lagS: Math.round((offsetS - detail.shiftS) * 1000) / 1000,
    r2: round(line.r2, 6),
    n: line.n,
    scaleInterval: interval(line.scale, detail.scaleHalf),
    offsetInterval: interval(line.offset, detail.offsetHalf),
    residualSd: round(line.residualSd, 4),
    range: { min: Math.min(...pairs.y), max: Math.max(...pairs.y) },
    chance: Math.min(1, detail.p * tried),
  };
}
