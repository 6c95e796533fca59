/** Clocks where stamps are fine: from the moments of hand-over, of those that show a clock of their own and not that of whom they follow. */
import type { Steps } from '../../frames/pictures/steps.ts';
import type { FrameTable, Stream } from '../../frames/table.ts';
import type { BusFrames } from '../bus-frames.ts';
import { busyPeriods } from './busy-periods.ts';
import { WIRE_STEP_US, type ClockReading, type FollowedClock, type Recorded } from './clock-reading.ts';
import { countCompanions } from './companions.ts';
import { findFollowers, followerWords, type WireOrder } from './followers.ts';
import { readFinely } from './hand-over.ts';
import { isWalking } from './walking.ts';

export interface FineClocks {
  readonly readings: readonly ClockReading[];
  /** Why a stream shows no clock of its sender's; for a person. */
  readonly aside: ReadonlyMap<Stream, string>;
}

const WALKS_WORDS =
  "its timer starts anew with every frame, so that its phase walks: it does not keep its sender's clock";

function* setAside(clocks: readonly FollowedClock[], order: WireOrder): Steps<Map<Stream, string>> {
  const followers = yield* findFollowers(clocks, order);
  const aside = new Map([...followers].map(([stream, follower]) => [stream, followerWords(follower)]));
  for (const { stream, track } of clocks) {
    const openedBy = order.busy.openedBy[stream.index] as Int16Array;
    if (isWalking(track, (row) => openedBy[row] === stream.index)) aside.set(stream, WALKS_WORDS);
    yield;
  }
  return aside;
}

/** O(frames), and a bounded sample for each two streams of one period. */
export function* readClocksFinely(
  table: FrameTable,
  clocks: readonly FollowedClock[],
  buses: readonly BusFrames[],
  recorded: Recorded,
): Steps<FineClocks> {
  const busy = yield* busyPeriods(table, buses, recorded.stepUs);
  const streams = clocks.map(({ stream }) => stream);
  const companions = yield* countCompanions(streams, buses, busy, table.endUs);
  const isShown = recorded.stepUs <= WIRE_STEP_US;
  const aside = isShown ? yield* setAside(clocks, { buses, busy, companions }) : new Map<Stream, string>();
  const readings: ClockReading[] = [];
  for (const [place, clock] of clocks.entries()) {
    if (aside.has(clock.stream)) continue;
    readings.push(readFinely(clock, place, { streams, busy, companions }, recorded));
    yield;
  }
  return { readings, aside };
}
