/**
 * One guard held against every frame of an identifier, as a person asks it while changing the rule: how many frames agree
 * and when the first did not. The rule is computed where the proof computes it; here are only the pieces of work and the sums.
 */
import { fitsIn, placementLength } from '../../frames/bits.ts';
import { sliceStream } from '../../frames/pictures/span.ts';
import type { Steps } from '../../frames/pictures/steps.ts';
import type { Stream } from '../../frames/table.ts';
import { verifyChecksum } from '../../map/checksum.ts';
import { checkContinuity } from '../../map/counter.ts';
import { compileGuard } from '../../map/decode.ts';
import type { MapChecksum, MapCounter, MapFrame } from '../../map/schema.ts';
import { valuesOnPage, type PageValues } from '../../map/page-values.ts';
import { MOMENTS_MOST, momentsOf } from './moments.ts';
import { distinctPayloads } from './prove-guards.ts';
import { DISTINCT_PAYLOADS_NEEDED } from './thresholds.ts';

/** What the frame must have for the rule to be computed: tables are picked by its first counter, pages by its selectors. */
type Around = Pick<MapFrame, 'counters' | 'selectors'>;

export type GuardQuestion =
  | { readonly guard: 'checksum'; readonly rule: MapChecksum; readonly around: Around }
  | { readonly guard: 'counter'; readonly rule: MapCounter; readonly around: Pick<MapFrame, 'selectors'> };

export interface ChecksumCheck {
  readonly guard: 'checksum';
  /** Frames held against the rule, and those that agree. */
  readonly checked: number;
  readonly passed: number;
  /** Frames too short for the rule, or whose counter is beyond its tables. */
  readonly unchecked: number;
  readonly otherPage: number;
  /** Share of frames that any value in these bits would agree with: 2^-bits. */
  readonly byChance: number;
  /** Fewer different payloads than can tell a right rule from a lucky one; null where there are enough. */
  readonly fewPayloads: number | null;
  /** Seconds on the capture's clock of the first frames that do not agree, at most 20. */
  readonly moments: readonly number[];
}

export interface CounterCheck {
  readonly guard: 'counter';
  /** Frames with one before them, and those that follow on from it, frames lost by the log allowed for. */
  readonly pairs: number;
  readonly followOn: number;
  readonly repeats: number;
  readonly skips: number;
  /** Frames missing where the bus was silent long enough for them: no fault of the counter. */
  readonly lost: number;
  readonly outOfRange: number;
  readonly otherPage: number;
  readonly moments: readonly number[];
}

/** `checked` (or `pairs`) 0 where no frame carries the guard; "not-computable": the rule lacks what computes it. */
export type GuardCheck = ChecksumCheck | CounterCheck | { readonly guard: 'not-computable' };

/** Some milliseconds of the slowest rules (any width, bit by bit). */
const ROWS_A_STEP = 4096;

/** @param periodUs usual interval of the identifier; null where it has none: then each frame must be the very next */
export function* checkGuard(stream: Stream, question: GuardQuestion, periodUs: number | null): Steps<GuardCheck> {
  if (!fitsIn(question.rule, stream.stride)) return { guard: 'not-computable' };
  return question.guard === 'checksum'
    ? yield* checkChecksum(stream, question.rule, question.around)
    : yield* checkCounter(stream, question.rule, question.around, periodUs);
}

function* slices(stream: Stream): Generator<Stream, void, undefined> {
  for (let from = 0; from < stream.count; from += ROWS_A_STEP)
    yield sliceStream(stream, from, Math.min(stream.count, from + ROWS_A_STEP));
}

function* checkChecksum(stream: Stream, rule: MapChecksum, around: Around): Steps<GuardCheck> {
  const sum = { checked: 0, passed: 0, unchecked: 0, otherPage: 0 };
  const moments: number[] = [];
  const seen = new Set<string>();
  for (const slice of slices(stream)) {
    const found = verifyChecksum(rule, around, slice);
    if (!found) return { guard: 'not-computable' };
    sum.checked += found.checked;
    sum.passed += found.passed;
    sum.unchecked += found.unchecked;
    sum.otherPage += found.otherPage;
    if (moments.length < MOMENTS_MOST)
      moments.push(...momentsOf(slice, found.failures).slice(0, MOMENTS_MOST - moments.length));
    distinctPayloads(slice, DISTINCT_PAYLOADS_NEEDED, seen);
    yield;
  }
  const fewPayloads = seen.size < DISTINCT_PAYLOADS_NEEDED ? seen.size : null;
  return { guard: 'checksum', ...sum, byChance: 2 ** -placementLength(rule), fewPayloads, moments };
}

function* checkCounter(
  stream: Stream,
  rule: MapCounter,
  { selectors }: Pick<MapFrame, 'selectors'>,
  periodUs: number | null,
): Steps<GuardCheck> {
  const guard = compileGuard(rule, selectors);
  const parts: PageValues[] = [];
  for (const slice of slices(stream)) {
    parts.push(valuesOnPage(guard, slice));
    yield;
  }
  const raws = joined(parts.map((part) => part.raws));
  const stamps = joined(parts.map((part) => part.timeUs));
  // Without a usual interval no silence can be told: by the number of the frame, each is to be the next.
  const timing = periodUs
    ? { timeUs: stamps, periodUs }
    : { timeUs: Float64Array.from({ length: raws.length }, (_, place) => place), periodUs: 1 };
  const found = checkContinuity(rule, raws, timing);
  return {
    guard: 'counter',
    pairs: found.pairs,
    followOn: found.continued,
    repeats: found.repeated,
    skips: found.jumped,
    lost: found.lost,
    outOfRange: found.outOfRange,
    otherPage: stream.count - raws.length,
    moments: found.breaks.slice(0, MOMENTS_MOST).map((place) => (stamps[place] as number) / 1e6),
  };
}

function joined(parts: readonly Float64Array[]): Float64Array {
  const all = new Float64Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}
