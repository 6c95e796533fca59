/**
 * A handful of readings by hand: when exactly they were taken is known to half a second or so, and not by the delay of a
 * receiver that the clock was found by. So a field is judged over all lags, each as likely as a person's, and the
 * lag itself is what all such quantities of one file say together: the same person read them.
 */
import type { FieldGrid } from './field-grid.ts';
import { squaredCorrelation } from './pairing.ts';
import type { Shift } from './shift.ts';
import type { ReferenceSeries } from './types.ts';

/** A person takes 150 to 450 ms to react to what they see (published ranges of simple and choice reaction): so the stamps scatter. */
const LAG_SD_S = 0.3;
const STEP_S = 0.1;
const LAGS_S = Array.from({ length: 21 }, (_, i) => (i - 10) * STEP_S);
const LAGS_FROM_READINGS = 5;
const R2_MOST = 0.99999;

/** [lags] log likelihood of a line over none at each lag, nats. */
export type OverLags = Float64Array;

const prior = LAGS_S.map((lagS) => Math.exp(-0.5 * (lagS / LAG_SD_S) ** 2));
const priorSum = prior.reduce((sum, one) => sum + one, 0);

export function tryFewReadings(
  grid: FieldGrid,
  series: ReferenceSeries,
  offsetS: number,
): { shiftS: number; r2: number; overLags?: OverLags } {
  const readings = series.timeS.length;
  if (readings < LAGS_FROM_READINGS) return { shiftS: offsetS, r2: squaredCorrelation(grid, series, offsetS).r2 };
  const degrees = readings - 2;
  const overLags = Float64Array.from(LAGS_S, (lagS) => {
    const { r2, n } = squaredCorrelation(grid, series, offsetS + lagS);
    return n < 0.5 * readings ? 0 : -0.5 * degrees * Math.log(1 - Math.min(r2, R2_MOST));
  });
  const most = Math.max(...overLags);
  const mean = overLags.reduce((sum, one, i) => sum + (prior[i] as number) * Math.exp(one - most), 0) / priorSum;
  return { shiftS: offsetS, r2: 1 - Math.exp((-2 * (most + Math.log(mean))) / degrees), overLags };
}

/** Evidence that a trial's share explained speaks of, nats. */
export const evidenceOverLags = ({ r2 }: { readonly r2: number }, readings: number): number =>
  -0.5 * (readings - 2) * Math.log(1 - Math.min(r2, R2_MOST));

/** When the readings by hand were taken, by the best field of each quantity, with its error; a person's where none tells. */
export function clockOfFew(
  screenings: readonly { readonly trials: readonly { readonly overLags?: OverLags }[] }[],
  offsetS: number,
): Shift {
  const told = screenings.flatMap(({ trials }) => (trials[0]?.overLags ? [trials[0].overLags] : []));
  const nats = LAGS_S.map((_, i) => told.reduce((sum, one) => sum + (one[i] as number), Math.log(prior[i] as number)));
  const most = Math.max(...nats);
  const weights = nats.map((one) => Math.exp(one - most));
  const total = weights.reduce((sum, one) => sum + one, 0);
  const meanOf = (value: (lagS: number) => number): number =>
    LAGS_S.reduce((sum, lagS, i) => sum + (weights[i] as number) * value(lagS), 0) / total;
  const middleS = meanOf((lagS) => lagS);
  return { shiftS: offsetS + middleS, seS: Math.sqrt(meanOf((lagS) => (lagS - middleS) ** 2) + STEP_S ** 2 / 12) };
}
