/**
 * When each frame of a schedule is due for the first time. A sender's frames keep their places within their periods against each other; the
 * first of them to come after a waking comes when it was seen to come, the others at the instant of their own grid nearest to
 * when they were seen, never before a frame that came earlier in the order.
 */
import type { MapFrame } from '../../map/schema.ts';
import type { PlannedFrame } from '../needs/types.ts';

/** Frames of which nothing is known are spread so far apart, lest they all come at once. */
const SPREAD_MS = 0.7;

const senderOf = ({ bus, sender }: MapFrame): string => `${bus} ${sender?.group ?? ''}`;

const modulo = (value: number, by: number): number => ((value % by) + by) % by;

/** For each sender: where phase 0 lies, ms after the start. */
function originsOf(frames: readonly PlannedFrame[]): ReadonlyMap<string, number> {
  const first = new Map<string, { atMs: number; originMs: number }>();
  for (const { frame, phaseMs, firstAfterWakeMs } of frames) {
    if (phaseMs === null || firstAfterWakeMs === null) continue;
    const key = senderOf(frame);
    const atMs = firstAfterWakeMs.midMs;
    const known = first.get(key);
    if (!known || atMs < known.atMs) first.set(key, { atMs, originMs: atMs - phaseMs });
  }
  return new Map([...first].map(([key, { originMs }]) => [key, originMs]));
}

/** The instant of the frame's own grid nearest to a wanted one, and not before the start. */
function onGrid(wantedMs: number, phaseMs: number, periodMs: number): number {
  const nearest = phaseMs + Math.round((wantedMs - phaseMs) / periodMs) * periodMs;
  return nearest < 0 ? nearest + Math.ceil(-nearest / periodMs) * periodMs : nearest;
}

function wantedFirst(planned: PlannedFrame, originMs: number, spreadMs: number): number {
  const { phaseMs, periodMs, firstAfterWakeMs } = planned;
  const seenMs = firstAfterWakeMs?.midMs ?? null;
  if (phaseMs === null || periodMs === null || periodMs <= 0) return seenMs ?? planned.phaseMs ?? spreadMs;
  return seenMs === null ? modulo(originMs + phaseMs, periodMs) : onGrid(seenMs, originMs + phaseMs, periodMs);
}

/** [frames] ms after the start, in the order given. */
export function firstTimes(frames: readonly PlannedFrame[]): number[] {
  const origins = originsOf(frames);
  const firstMs = frames.map((planned, i) =>
    wantedFirst(planned, origins.get(senderOf(planned.frame)) ?? 0, i * SPREAD_MS),
  );
  const buses = new Set(frames.map(({ frame }) => frame.bus));
  for (const bus of buses) keepOrder(frames, firstMs, bus);
  return firstMs;
}

/** The grid may round a frame to before one of its bus that it came after: then the order wins. Changes `firstMs`. */
function keepOrder(frames: readonly PlannedFrame[], firstMs: number[], bus: string): void {
  const inOrder = [...frames.entries()]
    .filter(([, { frame, order }]) => frame.bus === bus && order !== null)
    .sort(([, a], [, b]) => (a.order ?? 0) - (b.order ?? 0));
  let reachedMs = 0;
  for (const [i, { firstAfterWakeMs }] of inOrder) {
    const atMs = firstMs[i] as number;
    reachedMs = atMs < reachedMs ? Math.max(reachedMs, firstAfterWakeMs?.midMs ?? 0) : atMs;
    firstMs[i] = reachedMs;
  }
}
