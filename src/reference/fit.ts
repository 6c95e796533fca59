/**
 * Fields in the units of known quantities. Each field, in each coding its bits allow, is set against each reference; the
 * clock offset between them is found where the reference has enough readings; the best ties get a robust line with
 * honest errors. Nothing is fitted to a quantity, or to a field, that hardly moved.
 */
import type { FrameTable } from '../frames/table.ts';
import { checkpoint, part, type Control } from '../kit/control.ts';
import { createRandom } from '../kit/random.ts';
import { candidatesOf, type ProposedFrame } from '../map/proposed-fields.ts';
import { bestOffset, offsetSearch, referenceClock, roughReference, searchField, type OffsetSearch } from './clock.ts';
import { detailOf, type DetailedTrial } from './detailed.ts';
import { describeFits, toFit } from './report.ts';
import { screen, type Screening } from './screening.ts';
import { eachGrid, quantityOf, type Quantity, type Setting } from './setting.ts';
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

async function searchClock(setting: Setting, control: Control): Promise<OffsetSearch> {
  const search: OffsetSearch = offsetSearch(setting.quantities.length);
  await eachGrid(setting, control, 'clock:', (grid) => {
    setting.quantities.forEach(({ thin, dense, whyNot }, quantity) => {
      if (dense && whyNot === null) searchField(search, quantity, grid, thin);
    });
  });
  return search;
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
  const all: Quantified[] = [];
  for (const [index, quantity] of quantities.entries()) {
    await checkpoint(part(control, 0.9, 1), index / quantities.length, `fits of ${quantity.series.name}`);
    const { trials, tried } = screenings[index] as Screening;
    all.push({ quantity, tried, details: trials.flatMap((trial) => detailOf(setting, trial, quantity, random)) });
  }
  const offsetS = searched === null ? startS : fineOffset(all, startS);
  const clockOffsetS = Math.round((offsetS + rough.addedS) * 1000) / 1000;
  return {
    clockOffsetS,
    clock: referenceClock(input.offset, search, clockOffsetS, rough.addedS),
    clockWords: clockWords(input.offset, searched, offsetS + rough.addedS, rough.words),
    quantities: all.map((one) => reportQuantity(one, offsetS)),
  };
}
