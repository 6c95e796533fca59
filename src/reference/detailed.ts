/** A field that went on to the second round, with its fit in full: first where it goes with the readings best, then at their clock. */
import type { Coding } from '../frames/bits.ts';
import type { Random } from '../kit/random.ts';
import type { Candidate } from '../map/proposed-fields.ts';
import { fitDetail, type Detail } from './detail.ts';
import { evidenceOverLags } from './few-readings.ts';
import type { FieldGrid } from './field-grid.ts';
import { thinOut } from './pairing.ts';
import type { Trial } from './screening.ts';
import { shiftAtClock } from './settled-clock.ts';
import { gridsOf, type Quantity, type Setting } from './setting.ts';
import { bestShift, type Shift } from './shift.ts';
import type { ReferenceSeries } from './types.ts';

const DETAIL_MOST = 4000;

export interface DetailedTrial {
  readonly candidate: Candidate;
  readonly coding: Coding;
  readonly grid: FieldGrid;
  /** Readings that it was fitted to. */
  readonly series: ReferenceSeries;
  readonly detail: Detail;
  /** Where it goes with the readings best, by itself; of infinite error where they are too few to say. */
  readonly own: Shift;
  /** For few readings: evidence for the tie over all lags, nats; else null. */
  readonly overLags: number | null;
}

/** clock: for the few readings of one quantity, when they were taken; null where each field is to find that by itself. */
export function detailOf(
  setting: Setting,
  trial: Trial,
  quantity: Quantity,
  clock: Shift | null,
  random: Random,
): DetailedTrial[] {
  const candidate = setting.candidates[trial.candidate] as Candidate;
  const grid = gridsOf(candidate, setting.durationS)[trial.variant] as FieldGrid;
  const series = thinOut(quantity.series, DETAIL_MOST);
  const untold: Shift = { shiftS: clock?.shiftS ?? trial.shiftS, seS: Number.POSITIVE_INFINITY };
  const first = fitDetail(grid, series, clock ?? untold, random);
  if (!first) return [];
  const kept = { candidate, coding: trial.coding, grid, series };
  if (clock) return [{ ...kept, detail: first, own: untold, overLags: evidenceOverLags(trial, series.timeS.length) }];
  const own = bestShift(grid, series, trial.shiftS, first.line);
  const detail = fitDetail(grid, series, own, random);
  return detail ? [{ ...kept, detail, own, overLags: null }] : [];
}

/** The same fit with the readings' clock taken into account. */
export function atClock(one: DetailedTrial, clock: Shift, random: Random): DetailedTrial {
  const detail = fitDetail(one.grid, one.series, shiftAtClock(one.own, clock), random);
  return detail ? { ...one, detail } : one;
}
