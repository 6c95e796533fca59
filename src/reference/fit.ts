/**
 * Fields in the units of known quantities. Each field, in each coding its bits allow, is set against each reference; the
 * clock offset between them is found where the reference has enough readings; the best ties get a robust line with
 * honest errors. Nothing is fitted to a quantity, or to a field, that hardly moved.
 */
import type { FrameTable } from '../frames/table.ts';
import { checkpoint, part, type Control } from '../kit/control.ts';
import { createRandom, type Random } from '../kit/random.ts';
import { candidatesOf, type ProposedFrame } from '../map/proposed-fields.ts';
import {
  bestOffset,
  chanceEvidence,
  offsetSearch,
  referenceClock,
  roughReference,
  searchField,
  type OffsetSearch,
} from './clock.ts';
import { atClock, detailOf, type DetailedTrial } from './detailed.ts';
import { clockOfFew } from './few-readings.ts';
import { ranked } from './ranking.ts';
import { toFit } from './report.ts';
import { screen, type Screening } from './screening.ts';
import { agreedShift } from './settled-clock.ts';
import { eachGrid, quantityOf, type Quantity, type Setting } from './setting.ts';
import type { Shift } from './shift.ts';
import type { FitReport, QuantityFits, ReferenceFile } from './types.ts';
import { clockWords, wordsOf } from './words.ts';

export interface FitInput {
  readonly table: FrameTable;
  readonly findings: readonly ProposedFrame[];
  readonly reference: ReferenceFile;
  /** Capture time = reference time + offset. */
  readonly offset: 'auto' | number;
  readonly seed: number;
}

const isSearched = ({ dense, whyNot }: Quantity): boolean => dense && whyNot === null;

async function searchClock(setting: Setting, control: Control): Promise<OffsetSearch> {
  const search: OffsetSearch = offsetSearch(setting.quantities.length);
  await eachGrid(setting, control, 'clock:', (grid) => {
    search.fields++;
    setting.quantities.forEach((quantity, index) => {
      if (isSearched(quantity)) searchField(search, index, grid, quantity.thin);
    });
  });
  return search;
}

interface Quantified {
  readonly quantity: Quantity;
  readonly details: readonly DetailedTrial[];
  readonly tried: number;
}

/** The field of each quantity that is tied most closely, on its own terms: what tells the readings' clock. */
const closest = ({ details }: Quantified): Shift[] =>
  details
    .toSorted((a, b) => b.detail.line.r2 - a.detail.line.r2)
    .slice(0, 1)
    .map(({ own }) => own);

async function detailAll(
  setting: Setting,
  screenings: readonly Screening[],
  startS: number,
  random: Random,
  control: Control,
): Promise<Quantified[]> {
  const all: Quantified[] = [];
  const fewClock = clockOfFew(screenings, startS);
  for (const [index, quantity] of setting.quantities.entries()) {
    await checkpoint(control, index / setting.quantities.length, `fits of ${quantity.series.name}`);
    const { trials, tried } = screenings[index] as Screening;
    const clock = quantity.dense ? null : fewClock;
    const details = trials.flatMap((trial) => detailOf(setting, trial, quantity, clock, random));
    all.push({ quantity, tried, details });
  }
  return all;
}

function atTheirClock(all: readonly Quantified[], clock: Shift | null, random: Random): Quantified[] {
  if (!clock) return [...all];
  return all.map((one) =>
    one.quantity.dense ? { ...one, details: one.details.map((each) => atClock(each, clock, random)) } : one,
  );
}

function reportQuantity({ quantity, details, tried }: Quantified, offsetS: number, clock: Shift | null): QuantityFits {
  const { name, unit } = quantity.series;
  if (quantity.whyNot !== null) return { name, unit, fits: [], words: quantity.whyNot };
  const fits = ranked(details, clock).map((one) => toFit(one, quantity.series, offsetS, tried));
  return { name, unit, fits, words: wordsOf(quantity, fits) };
}

/** Scale and offset of fields against references. Deterministic for one seed. */
export async function fitFields(input: FitInput, control: Control): Promise<FitReport> {
  const { table, seed } = input;
  const durationS = table.endUs / 1e6;
  const rough = roughReference(input.reference, table.origin, durationS);
  const quantities = rough.series.map(quantityOf);
  const candidates = table.origin.kind === 'none' ? [] : candidatesOf(table, input.findings);
  const setting: Setting = { candidates, quantities, durationS };
  const search = input.offset === 'auto' ? await searchClock(setting, part(control, 0, 0.45)) : null;
  const searched = search && bestOffset(search);
  const startS = input.offset === 'auto' ? (searched ?? 0) : input.offset - rough.addedS;
  const screenings = await screen(setting, startS, part(control, 0.45, 0.9));
  const random = createRandom(seed).fork('fit');
  const free = await detailAll(setting, screenings, startS, random, part(control, 0.9, 1));
  const clock = agreedShift(free.filter(({ quantity }) => quantity.dense).flatMap(closest));
  const all = atTheirClock(free, clock, random);
  const offsetS = searched === null ? startS : (clock?.shiftS ?? startS);
  const clockOffsetS = Math.round((offsetS + rough.addedS) * 1000) / 1000;
  return {
    clockOffsetS,
    clock: referenceClock(input.offset, search, {
      offsetS: clockOffsetS,
      addedS: rough.addedS,
      seS: clock?.seS ?? null,
      chance:
        search &&
        chanceEvidence(
          search,
          quantities.filter(isSearched).map(({ thin }) => thin),
        ),
    }),
    clockWords: clockWords(input.offset, searched, offsetS + rough.addedS, rough.words),
    quantities: all.map((one) => reportQuantity(one, offsetS, clock)),
  };
}
