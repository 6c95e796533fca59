/** What all captures together say of the start after a waking: how long after it each frame first came, in which order, and whether before the part. */
import { median } from '../../kit/statistics/order.ts';
import { frameKey } from '../../map/identifiers.ts';
import type { CaptureObservations } from './observe/types.ts';
import type { FrameKey, NeedReason, SeenMs } from './types.ts';

/** So many wakings, and an order that never turned is less likely than one in eight by chance. */
const TELLING_WAKINGS = 3;

/** One text for a waking: a capture and its number in it. */
const wakingKey = (capture: string, waking: number): string => `${capture} ${waking}`;

/** Delays of one frame by waking, ms. */
function delaysOf(key: string, observations: readonly CaptureObservations[]): Map<string, number> {
  const starts = observations.flatMap(({ capture, frames }) =>
    frames
      .filter((frame) => frameKey(frame) === key)
      .flatMap(({ starts }) => starts.map(({ waking, delayMs }) => [wakingKey(capture, waking), delayMs] as const)),
  );
  return new Map(starts);
}

export function firstAfterWake(frame: FrameKey, observations: readonly CaptureObservations[]): SeenMs | null {
  const delays = [...delaysOf(frameKey(frame), observations).values()];
  if (delays.length === 0) return null;
  return { midMs: median(delays), lowMs: Math.min(...delays), highMs: Math.max(...delays), n: delays.length };
}

/** [frames] place on its bus after a waking, from 1; null where it was not seen to come after one. */
export function startOrder(frames: readonly FrameKey[], firsts: readonly (SeenMs | null)[]): (number | null)[] {
  const order = frames.map((): number | null => null);
  for (const bus of new Set(frames.map((frame) => frame.bus))) {
    frames
      .flatMap((frame, at) => (frame.bus === bus && firsts[at] ? [{ at, midMs: firsts[at].midMs }] : []))
      .sort((a, b) => a.midMs - b.midMs)
      .forEach(({ at }, place) => (order[at] = place + 1));
  }
  return order;
}

const span = (values: readonly number[]): string => {
  const [low, high] = [Math.round(Math.min(...values)), Math.round(Math.max(...values))];
  return low === high ? `${low} ms` : `${low} to ${high} ms`;
};

const wakings = (n: number): string => (n === 1 ? 'the one waking' : `each of ${n} wakings`);
const few = (n: number): string =>
  n < TELLING_WAKINGS ? `; ${n === 1 ? 'one waking says' : `${n} wakings say`} little: it may be chance` : '';

/** Whether a frame always came before, or always after, the part's own first one on its bus; null where neither, or where nothing was seen. */
export function orderReason(
  frame: FrameKey,
  part: readonly FrameKey[],
  observations: readonly CaptureObservations[],
): NeedReason | null {
  const own = delaysOf(frameKey(frame), observations);
  const first = new Map<string, number>();
  for (const each of part.filter(({ bus }) => bus === frame.bus)) {
    for (const [waking, delayMs] of delaysOf(frameKey(each), observations))
      first.set(waking, Math.min(first.get(waking) ?? Infinity, delayMs));
  }
  const ahead = [...own].flatMap(([waking, delayMs]) => {
    const partMs = first.get(waking);
    return partMs === undefined ? [] : [partMs - delayMs];
  });
  const n = ahead.length;
  if (n === 0) return null;
  if (ahead.every((ms) => ms > 0))
    return {
      kind: 'order',
      speaksFor: 'needed',
      words: `it came ${span(ahead)} before the part's own first frame after ${wakings(n)}: the part may wait for it${few(n)}`,
    };
  if (ahead.every((ms) => ms <= 0))
    return {
      kind: 'order',
      speaksFor: 'not-needed',
      words: `it came ${span(ahead.map((ms) => -ms))} after the part's own first frame after ${wakings(n)}: the part does not wait for it to begin sending${few(n)}`,
    };
  return null;
}
