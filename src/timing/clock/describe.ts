/** What the stamps of a capture can carry: their resolution, how many frames share one, and a verdict in words. */
import type { FrameTable } from '../../frames/table.ts';
import type { SurveyClock } from '../types.ts';

const STEPS_US = [
  1e6, 5e5, 2e5, 1e5, 5e4, 2e4, 1e4, 5000, 2000, 1000, 500, 200, 100, 50, 20, 10, 5, 2, 1, 0.1, 0.01, 0.001,
];
const STAMPS_LOOKED_AT = 20_000;
/** A few odd stamps (after a clock jump) do not make a coarse clock fine. */
const MULTIPLES_SHARE = 0.999;

function sampleStamps(table: FrameTable): Float64Array {
  const every = Math.max(1, Math.floor(table.frameCount / STAMPS_LOOKED_AT));
  const stamps: number[] = [];
  for (const stream of table.streams) {
    for (let row = 0; row < stream.count; row += every) stamps.push(stream.timeUs[row] as number);
  }
  return Float64Array.from(stamps);
}

/** Stamps are decimal fractions held as doubles: half a nanosecond is within their rounding. */
const ROUNDING_US = 5e-4;
const isMultiple = (us: number, stepUs: number): boolean =>
  Math.abs(us - Math.round(us / stepUs) * stepUs) <= Math.min(ROUNDING_US, stepUs / 4);

function isStep(stamps: Float64Array, originUs: number, stepUs: number, oddMax: number): boolean {
  let odd = 0;
  for (let i = 0; i < stamps.length && odd <= oddMax; i++) {
    if (!isMultiple((stamps[i] as number) - originUs, stepUs)) odd++;
  }
  return odd <= oddMax;
}

/** The coarsest of 1, 2, 5 x 10^k microseconds that nearly all stamps are multiples of, counted from the first one. */
export function stampResolution(table: FrameTable): number {
  const stamps = sampleStamps(table);
  const originUs = stamps.length > 0 ? stamps.reduce((least, us) => Math.min(least, us), Infinity) : 0;
  const oddMax = (1 - MULTIPLES_SHARE) * stamps.length;
  for (const stepUs of STEPS_US) if (isStep(stamps, originUs, stepUs, oddMax)) return stepUs;
  return STEPS_US[STEPS_US.length - 1] as number;
}

function verdict(
  kind: SurveyClock['kind'],
  resolutionUs: number,
  same: number,
  events: number,
  fewStamps: boolean,
): string {
  if (kind === 'none') return 'The file has no stamps: frames are only numbered, and nothing may be said about time.';
  if (fewStamps) return 'Too few different stamps to say how fine they are.';
  const parts: string[] = [];
  const step = resolutionUs >= 1000 ? `${resolutionUs / 1000} ms` : `${resolutionUs} us`;
  parts.push(`Stamps are multiples of ${step}.`);
  if (same >= 0.2) {
    parts.push(
      `${Math.round(100 * same)} % of the frames share the stamp of the one before: they were delivered in batches, so periods hold on average, jitter and order within a batch do not.`,
    );
  } else if (resolutionUs > 100) {
    parts.push('Good for periods; jitter below that step does not show.');
  } else parts.push('Good for periods and jitter.');
  if (events > 0)
    parts.push(
      `The clock was repaired at ${events} ${events === 1 ? 'place' : 'places'}: intervals across them are guesses.`,
    );
  if (kind === 'time-of-day') parts.push('Stamps are times of day without a date.');
  return parts.join(' ');
}

const STAMPS_NEEDED = 3;

/** Whether there are fewer different stamps than a step can be told from. Ends at the third. */
function hasFewStamps(table: FrameTable): boolean {
  const seen = new Set<number>();
  for (const stream of table.streams) {
    for (let row = 0; row < stream.count && seen.size < STAMPS_NEEDED; row++) seen.add(stream.timeUs[row] as number);
  }
  return seen.size < STAMPS_NEEDED;
}

/** @param sameStamp share of frames with the stamp of the frame before on the same bus */
export function describeClock(table: FrameTable, sameStamp: number): SurveyClock {
  const events = table.files.flatMap((file) => file.clockEvents);
  const resolutionUs = stampResolution(table);
  return {
    kind: table.origin.kind,
    resolutionUs,
    sameStampShare: sameStamp,
    events,
    outOfOrder: table.files.reduce((sum, file) => sum + file.outOfOrder, 0),
    verdict: verdict(table.origin.kind, resolutionUs, sameStamp, events.length, hasFewStamps(table)),
  };
}
