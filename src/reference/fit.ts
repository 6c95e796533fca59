/**
 * Fields in the units of known quantities. Each field, in each coding its bits allow, is set against each reference; the
 * clock offset between them is found where the reference has enough readings; the best ties get a robust line with
 * honest errors. Nothing is fitted to a quantity, or to a field, that hardly moved.
 */
import type { Coding } from '../frames/bits.ts';
import type { FrameTable } from '../frames/table.ts';
import { checkpoint, part, type Control } from '../kit/control.ts';
import { createRandom, type Random } from '../kit/random.ts';
import { fieldSeries, type FieldSeries } from '../map/field-series.ts';
import { candidatesOf, type Candidate, type ProposedFrame } from '../map/proposed-fields.ts';
import {
  bestOffset,
  offsetSearch,
  READINGS_FOR_OFFSET,
  roughReference,
  searchField,
  type OffsetSearch,
} from './clock.ts';
import { fitDetail, refineShift, type Detail } from './detail.ts';
import { layOnGrid, otherCodings, withoutLoneExtremes, type FieldGrid } from './field-grid.ts';
import { pulledIn, squaredCorrelation, thinOut } from './pairing.ts';
import { describeFits, toFit } from './report.ts';
import type { FitReport, QuantityFits, ReferenceFile, ReferenceSeries } from './types.ts';
import { whyNotFitted } from './varies.ts';

export interface FitInput {
  readonly table: FrameTable;
  readonly findings: readonly ProposedFrame[];
  readonly reference: ReferenceFile;
  /** Capture time = reference time + offset. */
  readonly offset: 'auto' | number;
  readonly seed: number;
}

/** A quantity as the search sees it. */
interface Quantity {
  readonly series: ReferenceSeries;
  /** Pulled in and thinned. */
  readonly thin: ReferenceSeries;
  readonly dense: boolean;
  readonly manyLevels: boolean;
  readonly whyNot: string | null;
}

interface Trial {
  readonly candidate: number;
  readonly coding: Coding;
  /** Which of the field's grids. */
  readonly variant: number;
  readonly shiftS: number;
  readonly r2: number;
}

const THIN = 400;
const DETAIL_MOST = 4000;
const DETAILED = 14;
const LAGS_S = [-2, -1.5, -1, -0.5, -0.25, 0, 0.25, 0.5, 1, 1.5, 2];
/** A handful of readings by hand: their delay is not that of a receiver that the clock was found by. */
const HAND_LAGS_S = Array.from({ length: 21 }, (_, i) => (i - 10) / 10);
const HAND_LAGS_FROM_READINGS = 5;
const R2_LEAST = 0.4;
/** A quantity read at many levels is not a field of a handful of values. */
const DISTINCT_LEAST = 3;
const DISTINCT_LEAST_DENSE = 6;
const LEVELS_MANY = 12;
const OTHER_CODING_LEAVES = 0.7;

const quantityOf = (series: ReferenceSeries): Quantity => ({
  series,
  thin: thinOut(pulledIn(series), THIN),
  dense: series.value.length >= READINGS_FOR_OFFSET,
  manyLevels: distinctUpTo(series.value, LEVELS_MANY) >= LEVELS_MANY,
  whyNot: whyNotFitted(series),
});

function distinctUpTo(values: Float64Array, most: number): number {
  const seen = new Set<number>();
  for (const value of values) {
    seen.add(value);
    if (seen.size >= most) break;
  }
  return seen.size;
}

/** A field on the grid as proposed, then in other ways worth a try; none where it hardly moves. */
function gridsOf({ stream, field, frame }: Candidate, durationS: number): FieldGrid[] {
  const coded = (coding: Coding): FieldSeries => fieldSeries(stream, { ...field, coding }, frame.selectors);
  const unsigned = coded('unsigned');
  const codings = [
    field.coding,
    ...otherCodings(field.coding, withoutLoneExtremes(unsigned) ?? unsigned, field.length),
  ];
  return codings.flatMap((coding) => {
    const series = coding === 'unsigned' ? unsigned : coded(coding);
    const trimmed = withoutLoneExtremes(series);
    return [series, ...(trimmed ? [trimmed] : [])]
      .filter(({ value }) => distinctUpTo(value, DISTINCT_LEAST) >= DISTINCT_LEAST)
      .map((one) => layOnGrid(one, coding, durationS));
  });
}

interface Setting {
  readonly candidates: readonly Candidate[];
  readonly quantities: readonly Quantity[];
  readonly durationS: number;
}

async function eachGrid(
  { candidates, durationS }: Setting,
  control: Control,
  note: string,
  use: (grid: FieldGrid, candidate: number, variant: number) => void,
): Promise<void> {
  for (const [index, candidate] of candidates.entries()) {
    await checkpoint(control, index / candidates.length, `${note} ${candidate.frame.id} ${candidate.field.name}`);
    gridsOf(candidate, durationS).forEach((grid, variant) => use(grid, index, variant));
  }
}

async function searchClock(setting: Setting, control: Control): Promise<number | null> {
  const search: OffsetSearch = offsetSearch(setting.quantities.length);
  await eachGrid(setting, control, 'clock:', (grid) => {
    setting.quantities.forEach(({ thin, dense, whyNot }, quantity) => {
      if (dense && whyNot === null) searchField(search, quantity, grid, thin);
    });
  });
  return bestOffset(search);
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

function lagsFor({ dense, series }: Quantity): readonly number[] {
  if (dense) return LAGS_S;
  return series.value.length >= HAND_LAGS_FROM_READINGS ? HAND_LAGS_S : [0];
}

/** How well a grid goes with a quantity near the offset: the best shift and its squared correlation. */
function tryField(grid: FieldGrid, quantity: Quantity, offsetS: number): Pick<Trial, 'shiftS' | 'r2'> {
  let best = { shiftS: offsetS, r2: 0 };
  for (const lagS of lagsFor(quantity)) {
    const { r2, n } = squaredCorrelation(grid, quantity.thin, offsetS + lagS);
    if (n >= 0.5 * quantity.thin.timeS.length && r2 > best.r2) best = { shiftS: offsetS + lagS, r2 };
  }
  return best;
}

interface Screening {
  readonly trials: Trial[];
  tried: number;
}

async function screen(setting: Setting, offsetS: number, control: Control): Promise<Screening[]> {
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

export interface DetailedTrial {
  readonly candidate: Candidate;
  readonly coding: Coding;
  readonly detail: Detail;
}

function detailOf(setting: Setting, trial: Trial, { series, dense }: Quantity, random: Random): DetailedTrial[] {
  const candidate = setting.candidates[trial.candidate] as Candidate;
  const grid = gridsOf(candidate, setting.durationS)[trial.variant] as FieldGrid;
  const full = thinOut(series, DETAIL_MOST);
  const shiftS = dense ? refineShift(grid, pulledIn(full), trial.shiftS) : trial.shiftS;
  const detail = fitDetail(grid, full, shiftS, random);
  return detail ? [{ candidate, coding: trial.coding, detail }] : [];
}

interface Quantified {
  readonly quantity: Quantity;
  readonly details: readonly DetailedTrial[];
  readonly tried: number;
}

/** The clock offset to a few hundredths: the shift of the tie that the data determine best. */
function fineOffset(all: readonly Quantified[], roughS: number): number {
  const best = all
    .filter(({ quantity, details }) => quantity.dense && details.length > 0)
    .map(({ details }) => details.toSorted((a, b) => b.detail.line.r2 - a.detail.line.r2)[0] as DetailedTrial)
    .toSorted((a, b) => a.detail.p - b.detail.p || b.detail.line.r2 - a.detail.line.r2)[0];
  return best ? best.detail.shiftS : roughS;
}

function reportQuantity({ quantity, details, tried }: Quantified, offsetS: number): QuantityFits {
  const { name, unit } = quantity.series;
  if (quantity.whyNot !== null) return { name, unit, fits: [], words: quantity.whyNot };
  const fits = describeFits(details).map((one) => toFit(one, quantity.series, offsetS, tried));
  return { name, unit, fits, words: wordsOf(quantity, fits) };
}

const EVIDENCE_LIMIT = 0.05;

function wordsOf({ series, dense }: Quantity, fits: QuantityFits['fits']): string {
  const [best] = fits;
  const { name } = series;
  if (!best) return `no field of this capture follows ${name}: it may be on another bus, or its page was not seen`;
  if ((best.chance ?? 1) <= EVIDENCE_LIMIT) return '';
  const few = dense ? `${name} only drifted` : `${series.value.length} readings`;
  return `not enough evidence to choose a field: ${few}, and others go with it by luck as well; more up and down would tell them apart`;
}

/** Scale and offset of fields against references. Deterministic for one seed. */
export async function fitFields(input: FitInput, control: Control): Promise<FitReport> {
  const { table, seed } = input;
  const durationS = table.endUs / 1e6;
  const rough = roughReference(input.reference, table.origin, durationS);
  const quantities = rough.series.map(quantityOf);
  const candidates = table.origin.kind === 'none' ? [] : candidatesOf(table, input.findings);
  const setting: Setting = { candidates, quantities, durationS };
  const searched = input.offset === 'auto' ? await searchClock(setting, part(control, 0, 0.45)) : null;
  const startS = input.offset === 'auto' ? (searched ?? 0) : input.offset - rough.addedS;
  const screenings = await screen(setting, startS, part(control, 0.45, 0.9));
  const random = createRandom(seed).fork('fit');
  const all: Quantified[] = [];
  for (const [index, quantity] of quantities.entries()) {
    await checkpoint(part(control, 0.9, 1), index / quantities.length, `fits of ${quantity.series.name}`);
    const { trials, tried } = screenings[index] as Screening;
    all.push({ quantity, tried, details: trials.flatMap((trial) => detailOf(setting, trial, quantity, random)) });
  }
  const offsetS = searched === null ? startS : fineOffset(all, startS);
  return {
    clockOffsetS: Math.round((offsetS + rough.addedS) * 1000) / 1000,
    clockWords: clockWords(input.offset, searched, offsetS + rough.addedS, rough.words),
    quantities: all.map((one) => reportQuantity(one, offsetS)),
  };
}

function clockWords(asked: 'auto' | number, searched: number | null, offsetS: number, rough: string): string {
  const found = `offset ${offsetS < 0 ? '−' : '+'}${Math.abs(offsetS).toFixed(2)} s`;
  const how =
    asked !== 'auto'
      ? `${found}, given by hand`
      : searched === null
        ? 'too few readings to find an offset: taken as they are'
        : `${found}, found where fields and readings go together best`;
  return rough === '' ? how : `${how}. ${rough}`;
}
