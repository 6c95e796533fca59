/** The phase of a frame from all captures: those that count from the same anchor, and only where they agree. */
import { frameKey } from '../../map/identifiers.ts';
import { samePhaseMs, way, wrapped } from './observe/circular.ts';
import type { CaptureObservations } from './observe/types.ts';
import type { FrameKey } from './types.ts';

/** The map's period and the capture's are one within this share. */
const SAME_PACE = 0.02;

export interface PlannedPhase {
  readonly phaseMs: number | null;
  readonly why: string;
}

const NOT_SEEN: PlannedPhase = { phaseMs: null, why: 'no capture was looked at that holds it' };

type Seen = CaptureObservations['frames'][number];

const seenOf = (frame: FrameKey, observations: readonly CaptureObservations[]): Seen[] =>
  observations.flatMap(({ frames }) => frames.filter((each) => frameKey(each) === frameKey(frame)));

/** Key of the frame that most findings of one sender count from; null where there are none. */
export function commonAnchor(frames: readonly FrameKey[], observations: readonly CaptureObservations[]): string | null {
  const votes = new Map<string, number>();
  for (const { phase } of frames.flatMap((frame) => seenOf(frame, observations))) {
    if (!phase) continue;
    const key = frameKey(phase.anchor);
    votes.set(key, (votes.get(key) ?? 0) + 1);
  }
  return [...votes].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1))[0]?.[0] ?? null;
}

/** @param anchor what the frames of its sender are counted from */
export function phaseIn(
  frame: FrameKey,
  periodMs: number | null,
  anchor: string | null,
  observations: readonly CaptureObservations[],
): PlannedPhase {
  const seen = seenOf(frame, observations);
  const [first] = seen;
  if (!first) return NOT_SEEN;
  if (periodMs === null) return { phaseMs: null, why: 'it has no period' };
  const paced = seen.filter((each) => Math.abs((each.periodMs ?? Infinity) / periodMs - 1) <= SAME_PACE);
  if (paced.length === 0) return { phaseMs: null, why: 'it has another period in the captures than in the map' };
  const phases = paced.flatMap(({ phase }) => (phase && frameKey(phase.anchor) === anchor ? [phase] : []));
  const [most] = [...phases].sort((a, b) => b.n - a.n);
  if (!most)
    return { phaseMs: null, why: paced.find(({ phase }) => !phase)?.phaseWhy ?? 'it is counted from another frame' };
  const apart = phases.some(
    ({ ms, spreadMs }) =>
      Math.abs(way(most.ms, ms, periodMs)) > samePhaseMs(periodMs, Math.max(spreadMs, most.spreadMs)),
  );
  if (apart) return { phaseMs: null, why: 'it lies elsewhere in another capture' };
  // A phase a hair below the whole period is one a hair below nought: shown as 0, which a schedule cannot tell from it.
  const phaseMs = Number(wrapped(most.ms, periodMs).toFixed(3));
  return { phaseMs: phaseMs >= periodMs ? 0 : phaseMs, why: '' };
}
