/**
 * A clock read from fine stamps by when frames were handed to the bus. Frames that the bus took at once show it to the microsecond.
 * A stream that always queues behind another of its task shows that one's moment; whether the two are of one task is known only
 * as well as a frame's time on the wire, since a frame that waits goes when the one before it ends.
 */
import type { Stream } from '../../frames/table.ts';
import type { BusyPeriods } from './busy-periods.ts';
import { plainRate, WINDOW_COUNTS, type ClockReading, type FollowedClock, type Recorded } from './clock-reading.ts';
import { openersOf, type Companions } from './companions.ts';
import { readWindows, type WindowReadings } from './window-readings.ts';

/** Below this no reading of a window is believed: stuff bits and software, microseconds. */
const FLOOR_US = 3;
/** What stuff bits, software and warmth may shift over a capture; and how long a busy period is, where the hand-over is never known. */
const SHIFT_US = 8;
const SHIFT_WAITING_US = 300;
/** So many frames of a stream found the bus idle, and so many of the fewest windows have some: then it shows its own clock. */
const CLEAR_SHARE = 0.1;
const CLEAR_WINDOWS = 5;
/**
 * On a bus that is busy nine tenths of the time, only one frame in ten finds it idle, on whatever clock: fewer tell it too where they are
 * no later than those that waited, and are taken for known to half a frame's time.
 */
const CLEAR_SHARE_BUSY = 0.02;

/** What all readings of a capture share. */
export interface BusTraffic {
  readonly streams: readonly Stream[];
  readonly busy: BusyPeriods;
  readonly companions: Companions;
}

type Windows = Pick<ClockReading, 'windows' | 'shiftUs'>;

/** From the frames that these streams' frames opened the busy period of; null where they are too few. */
function readClear(
  { stream, track }: FollowedClock,
  openers: ReadonlySet<number>,
  busy: BusyPeriods,
  { endUs, stepUs }: Recorded,
  leastShare = CLEAR_SHARE,
): readonly WindowReadings[] | null {
  const { timeUs, index, count } = stream;
  const openedBy = busy.openedBy[index] as Int16Array;
  const isOpener = Uint8Array.from(busy.openedBy, (_, other) => (openers.has(other) ? 1 : 0));
  const [clear, strayUs] = [new Uint8Array(count), new Float64Array(count)];
  const beganUs = busy.beganUs[index] as Float64Array;
  let clears = 0;
  for (let row = 0; row < count; row++) {
    clears += clear[row] = isOpener[openedBy[row] as number] as number;
    strayUs[row] = (track.strayUs[row] as number) + (beganUs[row] as number) - (timeUs[row] as number);
  }
  if (clears < leastShare * count) return null;
  const floorUs = Math.hypot(FLOOR_US, stepUs / 4);
  const readings = WINDOW_COUNTS.map((windows) => readWindows({ timeUs, strayUs, clear, endUs }, windows, floorUs));
  return (readings[readings.length - 1] as WindowReadings).count >= CLEAR_WINDOWS ? readings : null;
}

/** Frames that always wait behind others' show their clock only as well as busy periods are short. */
function readWaiting({ stream, track }: FollowedClock, endUs: number): Windows {
  const strays = { timeUs: stream.timeUs, strayUs: track.strayUs, clear: null, endUs };
  const windows = WINDOW_COUNTS.map((count) => readWindows(strays, count, SHIFT_WAITING_US / 3));
  return { windows, shiftUs: SHIFT_WAITING_US };
}

function windowsOf(followed: FollowedClock, place: number, traffic: BusTraffic, recorded: Recorded): Windows {
  const { busy, companions, streams } = traffic;
  const { index } = followed.stream;
  const own = readClear(followed, new Set([index]), busy, recorded);
  if (own) return { windows: own, shiftUs: SHIFT_US };
  const openers = openersOf(streams, place, companions, busy, recorded.endUs);
  const shared = readClear(followed, openers, busy, recorded);
  const shiftUs = (busy.wireUs[index] as number) / 2;
  if (shared) return { windows: shared, shiftUs };
  const seldom = readClear(followed, new Set([index]), busy, recorded, CLEAR_SHARE_BUSY);
  return seldom ? { windows: seldom, shiftUs } : readWaiting(followed, recorded.endUs);
}

/** For fine stamps. @param place of this one among the streams that are held against each other. O(n) */
export function readFinely(
  followed: FollowedClock,
  place: number,
  traffic: BusTraffic,
  recorded: Recorded,
): ClockReading {
  return {
    ...followed,
    rate: plainRate(followed.skew, recorded.stepUs),
    ...windowsOf(followed, place, traffic, recorded),
    levelUs: null,
    drawn: null,
  };
}
