/**
 * Whether the wire was free before a frame. Frames of one task queue one behind the other, and frames that met on the wire are late
 * together: both look like cause and effect. A frame before which the wire lay idle waited for none. How long a frame takes
 * comes from the closest neighbours of the bus and the bits of each (ISO 11898-1); stamps that are closer than any wire
 * allows were made when frames were fetched, and say nothing of this.
 */
import { lowerBound } from '../../frames/pictures/columns.ts';
import type { Stream } from '../../frames/table.ts';
import { leastBits, worstCaseBits } from '../../frames/wire.ts';
import { quantile } from '../robust.ts';
import { spreadRows } from './answer-rows.ts';

export interface WireLook {
  /** Microseconds a bit takes, about; too long where frames never follow closely. */
  readonly bitUs: number;
  /** What stamps step by, as far as distances between frames show. */
  readonly stepUs: number;
  /** Frames were fetched several at a time. */
  readonly isBatched: boolean;
}

const FRAMES_A_STREAM = 60;
/** Of the closest neighbours so many are passed over: odd stamps. */
const CLOSEST = 0.02;
/** No classical frame's bit takes less. */
const BIT_LEAST_US = 1;
const BATCHED_SHARE = 0.05;
/** Idle for a quarter of a frame and what a logger takes to stamp one. */
const IDLE_TIMES = 1.25;
const IDLE_US = 40;

/** Since the last frame of any of the bus's identifiers before this moment; Infinity where there was none. */
export function sinceLastFrame(streams: readonly Stream[], us: number): number {
  let last = -Infinity;
  for (const { timeUs } of streams) {
    const before = lowerBound(timeUs, us) - 1;
    if (before >= 0 && (timeUs[before] as number) > last) last = timeUs[before] as number;
  }
  return us - last;
}

/** The least step between ascending values, and from 0, beyond their rounding. */
function leastStep(sorted: Float64Array): number {
  let least = Infinity;
  for (let i = 0; i < sorted.length; i++) {
    const step = (sorted[i] as number) - (i > 0 ? (sorted[i - 1] as number) : 0);
    if (step > 1e-3 && step < least) least = step;
  }
  return Number.isFinite(least) ? least : 0;
}

function look(streams: readonly Stream[]): WireLook {
  const frames = streams.flatMap((stream) =>
    spreadRows(stream.count, FRAMES_A_STREAM).map((row) => ({
      stream,
      sinceUs: sinceLastFrame(streams, stream.timeUs[row] as number),
    })),
  );
  const known = frames.filter(({ sinceUs }) => Number.isFinite(sinceUs));
  const stepUs = leastStep(Float64Array.from(known, ({ sinceUs }) => sinceUs).sort());
  const tooClose = known.filter(
    ({ stream: { length, extended, fdFlags }, sinceUs }) =>
      fdFlags === null && sinceUs + stepUs < BIT_LEAST_US * leastBits(length, extended),
  );
  const bits = Float64Array.from(known, ({ stream, sinceUs }) => sinceUs / leastBits(stream.length, stream.extended));
  const bitUs = Math.max(BIT_LEAST_US, quantile(bits.sort(), CLOSEST));
  return { bitUs, stepUs, isBatched: tooClose.length > BATCHED_SHARE * known.length };
}

/** A bus is asked about for each of its identifiers: looked at once, known by the first of them. */
const looks = new WeakMap<Stream, WireLook>();

/** @param streams all of a bus. Cost: a sample of each identifier's frames, once. */
export function lookAtWire(streams: readonly Stream[]): WireLook {
  const [first] = streams;
  if (!first) return { bitUs: BIT_LEAST_US, stepUs: 0, isBatched: false };
  const known = looks.get(first) ?? look(streams);
  looks.set(first, known);
  return known;
}

/** From the last frame to the end of one that waited for none, at the least. */
export function idleBeforeUs(streams: readonly Stream[], { length, extended }: Stream): number {
  const { bitUs, stepUs } = lookAtWire(streams);
  return IDLE_TIMES * bitUs * worstCaseBits(length, extended) + IDLE_US + stepUs;
}

/** Those of a stream's rows before which the wire was free. */
export function freeRows(streams: readonly Stream[], stream: Stream, rows: Int32Array): Int32Array {
  const idleUs = idleBeforeUs(streams, stream);
  return rows.filter((row) => sinceLastFrame(streams, stream.timeUs[row] as number) > idleUs);
}
