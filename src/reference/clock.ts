/**
 * The offset between a reference's clock and the capture's: what the stamps say first (epoch against epoch, whole hours for
 * a logger on local time), then the offset within 30 s at which fields and readings go together best. A
 * handful of readings cannot tell an offset, so they are taken as they are.
 */
import type { ClockOrigin } from '../frames/table.ts';
import { EPOCH_FROM_S } from '../kit/time-base.ts';
import { independentPairs } from '../kit/statistics/autocorrelation.ts';
import { normalQuantile } from '../kit/statistics/distributions.ts';
import type { FieldGrid } from './field-grid.ts';
import { squaredCorrelation } from './pairing.ts';
import { alignReference } from './reference-file.ts';
import type { ReferenceClock, ReferenceFile, ReferenceSeries } from './types.ts';

const SEARCH_S = 30;
const STEP_S = 0.5;
const HOURS_MAX = 14;
export const READINGS_FOR_OFFSET = 20;

export interface RoughReference {
  readonly series: readonly ReferenceSeries[];
  readonly addedS: number;
  readonly words: string;
}

const moved = (series: readonly ReferenceSeries[], byS: number): ReferenceSeries[] =>
  series.map((one) => ({ ...one, timeS: one.timeS.map((timeS) => timeS + byS) }));

function insideShare(series: readonly ReferenceSeries[], byS: number, durationS: number): number {
  let inside = 0;
  let all = 0;
  for (const { timeS } of series) {
    for (const one of timeS) {
      all++;
      if (one + byS >= 0 && one + byS <= durationS) inside++;
    }
  }
  return all > 0 ? inside / all : 0;
}

function wholeHours(series: readonly ReferenceSeries[], durationS: number): number {
  let best = 0;
  for (let hours = 1; hours <= HOURS_MAX; hours++) {
    for (const signed of [hours, -hours]) {
      if (insideShare(series, signed * 3600, durationS) > insideShare(series, best * 3600, durationS) + 0.2)
        best = signed;
    }
  }
  return best;
}

/** Readings in seconds from the capture's origin, before the offset that is searched. */
export function roughReference(file: ReferenceFile, origin: ClockOrigin, durationS: number): RoughReference {
  const shared = file.timeBase === 'capture' || (origin.kind === 'epoch' && Number(origin.text) >= EPOCH_FROM_S);
  if (!shared) {
    const firstS = Math.min(...file.series.flatMap(({ timeS }) => (timeS.length > 0 ? [timeS[0] as number] : [])));
    const words =
      "the reference's clock has nothing in common with the capture's: its first reading was laid on the first frame";
    return { series: moved(file.series, -firstS), addedS: -firstS, words };
  }
  const series = alignReference(file, origin.text);
  if (insideShare(series, 0, durationS) > 0.3) return { series, addedS: 0, words: '' };
  const hours = wholeHours(series, durationS);
  const words = hours === 0 ? '' : `the readings lie ${Math.abs(hours)} h off: taken as a clock on local time`;
  return { series: moved(series, hours * 3600), addedS: hours * 3600, words };
}

/** Evidence for a tie of this strength over n readings, nats: the log likelihood ratio of a line against none. */
const evidenceOf = (r2: number, n: number): number => -0.5 * n * Math.log(1 - Math.min(r2, 0.9999));

export interface OffsetSearch {
  readonly offsetsS: readonly number[];
  /** For each quantity, [offsets] the best evidence over the fields so far. */
  readonly best: readonly Float64Array[];
  /** Fields put to it, each in each coding. */
  fields: number;
}

export function offsetSearch(quantities: number): OffsetSearch {
  const count = Math.round((2 * SEARCH_S) / STEP_S) + 1;
  const offsetsS = Array.from({ length: count }, (_, i) => -SEARCH_S + i * STEP_S);
  return { offsetsS, best: Array.from({ length: quantities }, () => new Float64Array(count)), fields: 0 };
}

/** Puts one field to all offsets for one quantity. */
export function searchField(search: OffsetSearch, quantity: number, grid: FieldGrid, thin: ReferenceSeries): void {
  const best = search.best[quantity] as Float64Array;
  search.offsetsS.forEach((offsetS, i) => {
    const { r2, n } = squaredCorrelation(grid, thin, offsetS);
    if (n < READINGS_FOR_OFFSET / 2 || n < 0.5 * thin.timeS.length) return;
    const evidence = evidenceOf(r2, n);
    if (evidence > (best[i] as number)) best[i] = evidence;
  });
}

/** [offsets] evidence over all quantities. */
export const evidenceAt = ({ offsetsS, best }: OffsetSearch): number[] =>
  offsetsS.map((_, i) => best.reduce((sum, one) => sum + (one[i] as number), 0));

/** The offset with most evidence over all quantities, or null where none was searched. */
export function bestOffset(search: OffsetSearch): number | null {
  const total = evidenceAt(search);
  const peak = total.indexOf(Math.max(...total));
  return (total[peak] as number) > 0 ? (search.offsetsS[peak] as number) : null;
}

/** Evidence is so great by luck in so many searches. */
const CHANCE = 0.001;
/** Below so many independent readings no correlation is beyond luck. */
const INDEPENDENT_LEAST = 4;

/**
 * Evidence that luck reaches once in a thousand searches: for each quantity the correlation that one of all fields at one of all offsets
 * reaches (Fisher's z with the independent readings of Bartlett 1946, taken as if fields were as slow as the quantity; Bonferroni over
 * fields, offsets and quantities), summed up as the evidence is. Infinite where the readings are too few to tell.
 */
export function chanceEvidence({ offsetsS, fields }: OffsetSearch, searched: readonly ReferenceSeries[]): number {
  const share = CHANCE / (Math.max(1, fields) * offsetsS.length * Math.max(1, searched.length));
  return searched.reduce((sum, { value }) => {
    const independent = independentPairs(value, value);
    if (!(independent >= INDEPENDENT_LEAST)) return Number.POSITIVE_INFINITY;
    const z = -normalQuantile(share / 2) / Math.sqrt(independent - 3);
    return sum + evidenceOf(Math.tanh(z) ** 2, value.length);
  }, 0);
}

/** What was settled of the clock besides the search. */
export interface SettledClock {
  /** As settled; and what the stamps alone had said of it. */
  readonly offsetS: number;
  readonly addedS: number;
  /** Null where they are not known. */
  readonly seS: number | null;
  readonly chance: number | null;
}

/** search: null where none was made. */
export function referenceClock(
  asked: 'auto' | number,
  search: OffsetSearch | null,
  { offsetS, addedS, seS, chance }: SettledClock,
): ReferenceClock {
  const isFound = search !== null && bestOffset(search) !== null;
  const curve = isFound
    ? { offsetS: search.offsetsS.map((each) => each + addedS), agreement: evidenceAt(search) }
    : null;
  return {
    offsetS,
    seS: isFound ? seS : null,
    from: asked !== 'auto' ? 'given' : isFound ? 'found' : 'not-needed',
    curve,
    chance: isFound && chance !== null && Number.isFinite(chance) ? chance : null,
  };
}
