/**
 * How each payload byte of a stream went: moves and rests over all frames, and which values it had once its sender had started.
 * Just after a start fields hold "no data" or zero in any capture: such frames say nothing about another one.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import { lengthAt, type Stream } from '../../frames/table.ts';
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import type { ByteProfile, Span } from './profile-types.ts';

/** After the start of a stretch: debouncing and first measurements take some seconds; of a short stretch, this share. */
const STARTING_S = 5;
const STARTING_SHARE = 0.25;
/** Changes kept of a byte: states and flags, not numbers. */
export const STEPS_KEPT = 48;
const ROWS_A_STEP = 100_000;

/** [count] 1 for frames whose sender has had time to start. */
function settledRows(stream: Stream, present: readonly Span[]): Uint8Array {
  const settled = new Uint8Array(stream.count);
  let row = 0;
  for (const { fromS, toS } of present) {
    const sinceUs = (fromS + Math.min(STARTING_S, STARTING_SHARE * (toS - fromS))) * MICROS_PER_SECOND;
    const untilUs = toS * MICROS_PER_SECOND + 1;
    for (; row < stream.count && (stream.timeUs[row] as number) <= untilUs; row++) {
      if ((stream.timeUs[row] as number) >= sinceUs) settled[row] = 1;
    }
  }
  return settled;
}

function sparse(counts: Uint32Array): Pick<ByteProfile, 'values' | 'counts' | 'settled'> {
  const values = Uint8Array.from(counts.keys()).filter((value) => (counts[value] as number) > 0);
  return {
    values,
    counts: Uint32Array.from(values, (value) => counts[value] as number),
    settled: counts.reduce((sum, count) => sum + count, 0),
  };
}

/** One byte of a stream. O(count). */
function byteProfile(stream: Stream, byte: number, settled: Uint8Array): ByteProfile {
  const counts = new Uint32Array(256);
  const steps: { atS: number; value: number }[] = [];
  let [frames, moves, rest, longestRest, last] = [0, 0, 0, 0, -1];
  for (let row = 0; row < stream.count; row++) {
    if (lengthAt(stream, row) <= byte) continue;
    const value = stream.payload[row * stream.stride + byte] as number;
    if (frames > 0 && value !== last) {
      moves++;
      rest = 0;
    } else rest++;
    if (value !== last && steps.length <= STEPS_KEPT) {
      steps.push({ atS: (stream.timeUs[row] as number) / MICROS_PER_SECOND, value });
    }
    if (rest > longestRest) longestRest = rest;
    if (settled[row]) counts[value] = (counts[value] as number) + 1;
    last = value;
    frames++;
  }
  return { frames, moves, rest, longestRest, last, ...sparse(counts), steps: steps.length > STEPS_KEPT ? null : steps };
}

/** Every byte of a stream. O(count * stride). */
export function* byteProfiles(stream: Stream, present: readonly Span[]): Steps<ByteProfile[]> {
  const settled = settledRows(stream, present);
  const profiles: ByteProfile[] = [];
  let rows = 0;
  for (let byte = 0; byte < stream.stride; byte++) {
    profiles.push(byteProfile(stream, byte, settled));
    rows += stream.count;
    if (rows >= ROWS_A_STEP) {
      rows = 0;
      yield;
    }
  }
  return profiles;
}
