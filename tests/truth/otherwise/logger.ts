/**
 * Loggers as they are: a stamp by an interrupt that comes late, by a poll, or on the arrival of a transfer that holds many frames; their
 * own clock, which is set or starts anew; frames lost in bursts, under load, and in holes. Common practice, no source.
 */
import type { Random } from '../../../src/kit/random.ts';
import type { WireFrame } from './controller.ts';
import type { Oscillator } from './oscillator.ts';
import type { LoggerWish } from './wish.ts';

/** Rows in the order of writing. */
export interface Logged {
  /** [n] place in the frames given. */
  readonly frame: Uint32Array;
  /** [n] microseconds by the logger's clock. */
  readonly stampUs: Float64Array;
}

/** One in so many interrupts is held up badly. */
const RARELY = 5000;
/** So many frames back to back are load. */
const CROWD = 12;

export function logFrames(frames: readonly WireFrame[], clock: Oscillator, wish: LoggerWish, random: Random): Logged {
  const lost = drawLosses(frames, wish, random.fork('losses'));
  const kept = new Uint32Array(frames.length).map((_, i) => i).filter((i) => lost[i] === 0);
  const arrivals = interruptTimes(frames, kept, wish, random.fork('interrupts'));
  const delivered = wish.transfer ? inTransfers(arrivals, wish.transfer) : arrivals;
  const stampUs = delivered.map((trueUs) => stamp(clock.ownUs(trueUs), trueUs, clock, wish));
  return { frame: kept, stampUs };
}

function interruptTimes(
  frames: readonly WireFrame[],
  kept: Uint32Array,
  wish: LoggerWish,
  random: Random,
): Float64Array {
  const [least, more, rarely] = wish.latencyUs;
  let before = -Infinity;
  return new Float64Array(kept.length).map((_, place) => {
    const i = kept[place] as number;
    const usual = least - more * Math.log(1 - random.next());
    const held = rarely > 0 && random.below(RARELY) === 0 ? rarely * random.next() : 0;
    before = Math.max(before + 0.2, (frames[i] as WireFrame).endUs + usual + held);
    return before;
  });
}

function inTransfers(arrivals: Float64Array, transfer: NonNullable<LoggerWish['transfer']>): Float64Array {
  const out = new Float64Array(arrivals.length);
  let sentUs = -Infinity;
  for (let from = 0; from < arrivals.length;) {
    const closesUs = (arrivals[from] as number) + transfer.withinMs * 1000;
    let to = from;
    while (to < arrivals.length && to - from < transfer.frames && (arrivals[to] as number) <= closesUs) to++;
    const isFull = to - from === transfer.frames;
    const readyUs = Math.max(isFull ? (arrivals[to - 1] as number) : closesUs, sentUs);
    for (let i = from; i < to; i++) out[i] = readyUs + (i - from + 1) * transfer.apartUs;
    sentUs = out[to - 1] as number;
    from = to;
  }
  return out;
}

function stamp(ownUs: number, trueUs: number, clock: Oscillator, wish: LoggerWish): number {
  let at = ownUs;
  for (const { atS, byS } of wish.jumps) if (trueUs >= atS * 1e6) at += byS * 1e6;
  const since = wish.restartsS.filter((atS) => trueUs >= atS * 1e6).pop();
  if (since !== undefined) at = ownUs - clock.ownUs(since * 1e6);
  const pollUs = wish.pollMs * 1000;
  if (pollUs > 0) at = Math.ceil(at / pollUs) * pollUs;
  return Math.floor(at / wish.resolutionUs) * wish.resolutionUs;
}

function drawLosses(frames: readonly WireFrame[], wish: LoggerWish, random: Random): Uint8Array {
  const lost = new Uint8Array(frames.length);
  for (let burst = 0; burst < wish.lossBursts; burst++) {
    const from = random.below(frames.length);
    lost.fill(1, from, from + 1 + random.below(wish.lossMost));
  }
  let crowd = 0;
  frames.forEach(({ startUs, endUs }, i) => {
    const before = frames[i - 1];
    crowd = before && startUs - before.endUs < 40 ? crowd + 1 : 0;
    if (crowd >= CROWD && random.next() < wish.lossUnderLoad) lost[i] = 1;
    if (wish.holes.some(({ atS, forS }) => endUs >= atS * 1e6 && endUs < (atS + forS) * 1e6)) lost[i] = 1;
  });
  return lost;
}
