/** A field that went on to the second round, with its fit in full. */
import type { Coding } from '../frames/bits.ts';
import type { Random } from '../kit/random.ts';
import type { Candidate } from '../map/proposed-fields.ts';
import { fitDetail, refineShift, type Detail } from './detail.ts';
import type { FieldGrid } from './field-grid.ts';
import { pulledIn, thinOut } from './pairing.ts';
import type { Trial } from './screening.ts';
import { gridsOf, type Quantity, type Setting } from './setting.ts';

const DETAIL_MOST = 4000;

export interface DetailedTrial {
  readonly candidate: Candidate;
  readonly coding: Coding;
  readonly detail: Detail;
}

export function detailOf(setting: Setting, trial: Trial, { series, dense }: Quantity, random: Random): DetailedTrial[] {
  const candidate = setting.candidates[trial.candidate] as Candidate;
  const grid = gridsOf(candidate, setting.durationS)[trial.variant] as FieldGrid;
  const full = thinOut(series, DETAIL_MOST);
  const shiftS = dense ? refineShift(grid, pulledIn(full), trial.shiftS) : trial.shiftS;
  const detail = fitDetail(grid, full, shiftS, random);
  return detail ? [{ candidate, coding: trial.coding, detail }] : [];
}
