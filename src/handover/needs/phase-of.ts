/** The phase of a frame from all captures: those that count from the same anchor, and only where they agree. */
import { frameKey } from '../../map/identifiers.ts';
import { way, wrapped } from './observe/circular.ts';
import type { CaptureObservations } from './observe/types.ts';
import type { FrameKey } from './types.ts';

/** Captures agree within this share of the period. */
const SAME_SHARE = 0.1;
/** The map's period and the capture's are one within this share. */
const SAME_PACE = 0.02;

export interface PlannedPhase {
  readonly phaseMs: number | null;
  readonly why: string;
}

const NOT_SEEN: PlannedPhase = { phaseMs: null, why: 'no capture was looked at that holds it' };

export function phaseIn(
  frame: FrameKey,
  periodMs: number | null,
  observations: readonly CaptureObservations[],
): PlannedPhase {
  const seen = observations.flatMap(({ frames }) => frames.filter((each) => frameKey(each) === frameKey(frame)));
  const [first] = seen;
  if (!first) return NOT_SEEN;
  if (periodMs === null) return { phaseMs: null, why: 'it has no period' };
  const paced = seen.filter((each) => Math.abs((each.periodMs ?? Infinity) / periodMs - 1) <= SAME_PACE);
  if (paced.length === 0) return { phaseMs: null, why: 'it has another period in the captures than in the map' };
  const phases = paced.flatMap(({ phase }) => (phase ? [phase] : []));
  const most = phases.reduce<(typeof phases)[number] | null>((a, b) => (a && a.n >= b.n ? a : b), null);
  if (!most) return { phaseMs: null, why: paced[0]?.phaseWhy ?? first.phaseWhy };
  const same = phases.filter(({ anchor }) => frameKey(anchor) === frameKey(most.anchor));
  if (same.some(({ ms }) => Math.abs(way(most.ms, ms, periodMs)) > SAME_SHARE * periodMs))
    return { phaseMs: null, why: 'it lies elsewhere in another capture' };
  // A phase a hair below the whole period is one a hair below nought: shown as 0, which a schedule cannot tell from it.
  const phaseMs = Number(wrapped(most.ms, periodMs).toFixed(3));
  return { phaseMs: phaseMs >= periodMs ? 0 : phaseMs, why: '' };
}
