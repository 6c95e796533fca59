/** The first round: every field against every quantity near the offset, cheaply; the best few go on to a fit in full. */
import type { Coding } from '../frames/bits.ts';
import type { Control } from '../kit/control.ts';
import { spearman } from '../kit/statistics/correlation.ts';
import type { FieldGrid } from './field-grid.ts';
import { tryFewReadings, type OverLags } from './few-readings.ts';
import { pairUp, squaredCorrelation } from './pairing.ts';
import { distinctUpTo, DISTINCT_LEAST_DENSE, eachGrid, type Quantity, type Setting } from './setting.ts';

const DETAILED = 14;
const LAGS_S = [-2, -1.5, -1, -0.5, -0.25, 0, 0.25, 0.5, 1, 1.5, 2];
const R2_LEAST = 0.4;
const OTHER_CODING_LEAVES = 0.7;
/** Of ranks, where values do not go along a line: less is no tie that only rises or only falls. */
const RANK2_LEAST = 0.8;

export interface Trial {
  readonly candidate: number;
  readonly coding: Coding;
  /** Which of the field's grids. */
  readonly variant: number;
  readonly shiftS: number;
  /** For few readings the one that stands for all their lags. */
  readonly r2: number;
  /** For few readings: how strongly each lag ties the field to them. */
  readonly overLags?: OverLags;
}

/** Keeps the best coding of a field, and the best fields of a quantity. */
function keepTrial(trials: Trial[], trial: Trial): void {
  const same = trials.findIndex(({ candidate }) => candidate === trial.candidate);
  // Codings come with the proposed one first: another must explain a good part of what that leaves over.
  if (same >= 0 && 1 - trial.r2 > OTHER_CODING_LEAVES * (1 - (trials[same] as Trial).r2)) return;
  if (same >= 0) trials.splice(same, 1);
  trials.push(trial);
  trials.sort((a, b) => b.r2 - a.r2);
  trials.length = Math.min(trials.length, DETAILED);
}

/** A tie so bent that a line says little of it is seen by ranks, which a bend does not lower. */
function byRank(grid: FieldGrid, { thin, manyLevels }: Quantity, shiftS: number, r2: number): number {
  if (!manyLevels) return r2;
  const { x, y } = pairUp(grid.series, thin, shiftS, grid.holdS);
  if (x.length < 0.5 * thin.timeS.length) return r2;
  const rank2 = spearman(x, y) ** 2;
  return rank2 >= RANK2_LEAST ? rank2 : r2;
}

/** How well a grid goes with a quantity near the offset: the best shift and its squared correlation. */
function tryField(grid: FieldGrid, quantity: Quantity, offsetS: number): Pick<Trial, 'shiftS' | 'r2' | 'overLags'> {
  if (!quantity.dense) return tryFewReadings(grid, quantity.thin, offsetS);
  let best = { shiftS: offsetS, r2: 0 };
  for (const lagS of LAGS_S) {
    const { r2, n } = squaredCorrelation(grid, quantity.thin, offsetS + lagS);
    if (n >= 0.5 * quantity.thin.timeS.length && r2 > best.r2) best = { shiftS: offsetS + lagS, r2 };
  }
  return best.r2 >= R2_LEAST ? best : { ...best, r2: byRank(grid, quantity, best.shiftS, best.r2) };
}

export interface Screening {
  readonly trials: Trial[];
  tried: number;
}

export async function screen(setting: Setting, offsetS: number, control: Control): Promise<Screening[]> {
  const screenings = setting.quantities.map((): Screening => ({ trials: [], tried: 0 }));
  await eachGrid(setting, control, 'fits of', (grid, candidate, variant) => {
    const coarse = distinctUpTo(grid.series.value, DISTINCT_LEAST_DENSE) < DISTINCT_LEAST_DENSE;
    setting.quantities.forEach((quantity, index) => {
      if (quantity.whyNot !== null || (quantity.manyLevels && coarse)) return;
      const screening = screenings[index] as Screening;
      screening.tried++;
      const trial = { candidate, coding: grid.coding, variant, ...tryField(grid, quantity, offsetS) };
      if (trial.r2 >= R2_LEAST) keepTrial(screening.trials, trial);
    });
  });
  return screenings;
}
