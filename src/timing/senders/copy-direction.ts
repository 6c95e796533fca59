/**
 * Which of two identifiers with the same payloads is the copy, where two loggers heard one each and their clocks are known less well than
 * the delay is long: who came first does not show then, and only what their intervals say tells it, as for the gateway itself.
 */
import { upperBound } from '../../frames/pictures/columns.ts';
import type { FrameTable, Stream } from '../../frames/table.ts';
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import { habitOf } from '../clock/loggers/ways.ts';
import { samePayload, type CopyFinding } from './copies.ts';

/** The offset of two clocks lies within so many standard errors, 95 times in 100. */
const OFFSET_SE = 1.96;
const FRAMES_MOST = 3000;
const NEAR_US = 30_000;

/** Microseconds that stamps of two buses may be off against each other; 0 of one logger's. */
export function clockDoubtUs({ loggers }: FrameTable, one: string, other: string): number {
  const of = (bus: string): number => (loggers ?? []).findIndex(({ buses }) => buses.includes(bus));
  if (of(one) === of(other)) return 0;
  const errorS = (bus: string): number => loggers?.[of(bus)]?.offsetSe ?? 0;
  return OFFSET_SE * MICROS_PER_SECOND * Math.hypot(errorS(one), errorS(other));
}

/** Row of the frame nearest in time; -1 of none. */
function nearest({ timeUs, count }: Stream, us: number): number {
  const after = upperBound(timeUs, us);
  if (after === 0 || after === count) return after === 0 ? 0 : count - 1;
  return us - (timeUs[after - 1] as number) <= (timeUs[after] as number) - us ? after - 1 : after;
}

/** Whether intervals say that the original is the original. Cost: FRAMES_MOST frames. */
function isToldByIntervals(original: Stream, copy: Stream): boolean {
  const from = Math.max(0, (copy.count - FRAMES_MOST) >> 1);
  const to = Math.min(copy.count, from + FRAMES_MOST);
  const [aUs, bUs]: [number[], number[]] = [[], []];
  for (let row = from; row < to; row++) {
    const us = copy.timeUs[row] as number;
    const at = nearest(original, us);
    const own = original.timeUs[at] as number;
    if (Math.abs(own - us) > NEAR_US || !samePayload(original, at, copy, row)) continue;
    aUs.push(own);
    bUs.push(us);
  }
  const share = aUs.length / Math.max(1, to - from);
  const { way } = habitOf({
    aUs: Float64Array.from(aUs),
    bUs: Float64Array.from(bUs),
    shareOfA: share,
    shareOfB: share,
  });
  return way === 'forth';
}

/** Copies whose direction does not show, taken out of those found: by stream, the other one. */
export function takeUntold(table: FrameTable, copies: Map<Stream, CopyFinding>): Map<Stream, Stream> {
  const untold = new Map<Stream, Stream>();
  for (const [copy, { original, delayUs }] of [...copies]) {
    const doubtUs = clockDoubtUs(table, original.bus, copy.bus);
    if (delayUs > doubtUs || isToldByIntervals(original, copy)) continue;
    copies.delete(copy);
    untold.set(copy, original).set(original, copy);
  }
  return untold;
}
