/** Quantities and fields as the searches see them, and the walk over all fields in all the ways worth a try. */
import type { Coding } from '../frames/bits.ts';
import { checkpoint, type Control } from '../kit/control.ts';
import { fieldSeries, type FieldSeries } from '../map/field-series.ts';
import type { Candidate } from '../map/proposed-fields.ts';
import { READINGS_FOR_OFFSET } from './clock.ts';
import { layOnGrid, otherCodings, withoutLoneExtremes, type FieldGrid } from './field-grid.ts';
import { pulledIn, thinOut } from './pairing.ts';
import type { ReferenceSeries } from './types.ts';
import { whyNotFitted } from './varies.ts';

const THIN = 400;
/** A quantity read at many levels is not a field of a handful of values. */
const DISTINCT_LEAST = 3;
export const DISTINCT_LEAST_DENSE = 6;
const LEVELS_MANY = 12;

/** A quantity as the search sees it. */
export interface Quantity {
  readonly series: ReferenceSeries;
  /** Pulled in and thinned. */
  readonly thin: ReferenceSeries;
  readonly dense: boolean;
  readonly manyLevels: boolean;
  readonly whyNot: string | null;
}

export const quantityOf = (series: ReferenceSeries): Quantity => ({
  series,
  thin: thinOut(pulledIn(series), THIN),
  dense: series.value.length >= READINGS_FOR_OFFSET,
  manyLevels: distinctUpTo(series.value, LEVELS_MANY) >= LEVELS_MANY,
  whyNot: whyNotFitted(series),
});

export function distinctUpTo(values: Float64Array, most: number): number {
  const seen = new Set<number>();
  for (const value of values) {
    seen.add(value);
    if (seen.size >= most) break;
  }
  return seen.size;
}

/** A field on the grid as proposed, then in other ways worth a try; none where it hardly moves. */
export function gridsOf({ stream, field, frame }: Candidate, durationS: number): FieldGrid[] {
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

export interface Setting {
  readonly candidates: readonly Candidate[];
  readonly quantities: readonly Quantity[];
  readonly durationS: number;
}

export async function eachGrid(
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
