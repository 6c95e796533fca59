/**
 * The place of each frame in the rhythm of its sender. A module's software counts ticks and sends each frame at a tick of its own, so that the frames
 * of one sender keep their distances while its clock wanders against the logger's. Time is therefore counted in periods of the sender's
 * own slowest steady frame, the anchor. What is too jittery, too coarse in time, or different after each waking has no phase.
 */
import type { Stream } from '../../../frames/table.ts';
import type { Span } from '../../../frames/pictures/span.ts';
import type { SurveyFrame } from '../../../timing/types.ts';
import { presentSpans } from '../../../timing/wakings.ts';
import type { FrameKey } from '../types.ts';
import { crowdOf, samePhaseMs, way, wrapped, type Crowd } from './circular.ts';
import type { SeenPhase } from './types.ts';

export interface PhaseInput {
  readonly stream: Stream;
  readonly row: SurveyFrame;
  readonly key: FrameKey;
  readonly periodMs: number | null;
  /** Stretches in which it keeps that period; null: throughout. */
  readonly spans: readonly Span[] | null;
}

export interface Phase {
  readonly phase: SeenPhase | null;
  readonly why: string;
}

/** An anchor is no slower, so that enough of its frames come. */
const ANCHOR_MOST_MS = 2000;
const ANCHOR_FRAMES = 8;
const FRAMES_LEAST = 8;
/** Jitter of an anchor against the period of what it is an anchor for. */
const JITTER_SHARE = 0.125;
/** Stamps finer than this share of the period tell a phase. */
const STEP_SHARE = 0.2;
const NEAR_LEAST = 0.8;
/** Periods are in a ratio of whole numbers up to this one, to this accuracy: one clock keeps both. */
const RATIO_MOST = 16;
const RATIO_OFF = 3e-4;
/** So many frames are tried as anchor: one whose own timer walks fits nobody. Tried no further where so many of the others fit. */
const ANCHORS_TRIED = 4;
const FITTING = 0.8;
/** What load on the wire may move a frame by from minute to minute. */
const WALK_LEAST_MS = 0.4;
/** An anchor whose frames were silent for longer begins anew. */
const STRETCH_TICKS_LEAST = 3;

const isSteady = ({ row, periodMs, stream }: PhaseInput): boolean =>
  row.timing.kind === 'periodic' &&
  row.network === null &&
  periodMs !== null &&
  periodMs <= ANCHOR_MOST_MS &&
  stream.count >= ANCHOR_FRAMES;

/** Of how many others the period is a whole part of its own. */
const parts = ({ periodMs }: PhaseInput, members: readonly PhaseInput[]): number =>
  members.filter((each) => each.periodMs !== null && commonPeriod(each.periodMs, periodMs ?? 0, 1) !== null).length;

/** Steady frames that most others could be counted against first; of equals the slowest, then the lowest identifier. */
function anchorsOf(members: readonly PhaseInput[]): PhaseInput[] {
  return members
    .filter(isSteady)
    .map((input) => ({ input, parts: parts(input, members), periodMs: Math.round(input.periodMs ?? 0) }))
    .sort((a, b) => b.parts - a.parts || b.periodMs - a.periodMs || Number(a.input.key.id) - Number(b.input.key.id))
    .slice(0, ANCHORS_TRIED)
    .map(({ input }) => input);
}

/** The frame's period in milliseconds of the anchor's clock, exact where the two are in a simple ratio; null where they are not. */
export function commonPeriod(periodMs: number, anchorMs: number, most = RATIO_MOST): number | null {
  for (let m = 1; m <= most; m++) {
    const ratio = (m * anchorMs) / periodMs;
    const whole = Math.round(ratio);
    if (whole >= 1 && Math.abs(ratio - whole) <= Math.min(0.05, RATIO_OFF * whole)) return (m * anchorMs) / whole;
  }
  return null;
}

const within = (spans: readonly Span[] | null, us: number): boolean =>
  spans === null || spans.some(({ fromS, toS }) => us >= fromS * 1e6 && us <= toS * 1e6);

/** Times of the frame in a stretch of the anchor, in ms of the anchor's clock since its first frame there. */
function ownTimes(input: PhaseInput, anchor: PhaseInput, anchorMs: number, { fromS, toS }: Span): number[] {
  const { timeUs } = anchor.stream;
  const times: number[] = [];
  let row = 0;
  for (let at = 0, tick = 0; at < anchor.stream.count; at++) {
    const us = timeUs[at] as number;
    if (us < fromS * 1e6 - 1 || us > toS * 1e6 + 1) continue;
    const before = at > 0 ? (timeUs[at - 1] as number) : us;
    tick = us - fromS * 1e6 < 1 ? 0 : tick + Math.round((us - before) / (1000 * anchorMs));
    const isLast = at + 1 === anchor.stream.count || (timeUs[at + 1] as number) > toS * 1e6 + 1;
    const untilUs = isLast ? us + 1000 * anchorMs : (timeUs[at + 1] as number);
    while (row < input.stream.count && (input.stream.timeUs[row] as number) < us) row++;
    for (; row < input.stream.count && (input.stream.timeUs[row] as number) < untilUs; row++) {
      const own = input.stream.timeUs[row] as number;
      if (within(input.spans, own)) times.push(tick * anchorMs + (own - us) / 1000);
    }
  }
  return times;
}

type CountedCrowd = Crowd & { readonly n: number };

const WALKS = 'it keeps no place: another timer sends it, or another sender';

const none = (why: string): Phase => ({ phase: null, why });

/** The crowds of all stretches as one; null where they lie apart. */
function together(crowds: readonly CountedCrowd[], periodMs: number, stepMs: number): CountedCrowd | null {
  const most = crowds.reduce((a, b) => (b.n > a.n ? b : a));
  const apart = crowds.some(({ middle, spread }) => {
    const allowed = samePhaseMs(periodMs, Math.max(spread, most.spread), stepMs);
    return Math.abs(way(most.middle, middle, periodMs)) > allowed;
  });
  return apart ? null : { ...most, n: crowds.reduce((sum, { n }) => sum + n, 0) };
}

/**
 * One stretch's crowd; null where the two halves of it lie apart by more than single frames scatter: a frame of another clock walks, and walking over
 * a width w it scatters by a third of w at most, while its halves lie w / 2 apart.
 */
function steadyCrowd(times: readonly number[], period: number, stepMs: number): CountedCrowd | null {
  const half = times.length >> 1;
  const whole = { ...crowdOf(times, period), n: times.length };
  if (half < FRAMES_LEAST) return whole;
  const [early, late] = [crowdOf(times.slice(0, half), period), crowdOf(times.slice(half), period)];
  const allowed = Math.max(WALK_LEAST_MS, stepMs, 1.5 * Math.max(early.spread, late.spread));
  return Math.abs(way(early.middle, late.middle, period)) <= allowed ? whole : null;
}

function phaseOf(input: PhaseInput, anchor: PhaseInput, stepMs: number): Phase {
  const { periodMs } = input;
  if (periodMs === null || anchor.periodMs === null) return none('it has no period');
  if (input === anchor) {
    const spreadMs = anchor.row.timing.jitterMs ?? 0;
    return { phase: { ms: 0, spreadMs, n: anchor.stream.count, anchor: anchor.key }, why: '' };
  }
  if (stepMs > STEP_SHARE * periodMs) return none(`stamps ${stepMs} ms apart do not tell it`);
  if ((anchor.row.timing.jitterMs ?? 0) > JITTER_SHARE * periodMs)
    return none(`${anchor.key.id}, which it would be counted against, comes too unevenly`);
  const period = commonPeriod(periodMs, anchor.periodMs);
  if (period === null) return none(`its period is in no simple ratio to that of ${anchor.key.id}`);
  const crowds = presentSpans(anchor.stream, anchor.row.timing).flatMap((span) => {
    const times = ownTimes(input, anchor, anchor.periodMs as number, span);
    const isLong = (span.toS - span.fromS) * 1000 >= STRETCH_TICKS_LEAST * (anchor.periodMs as number);
    return isLong && times.length >= FRAMES_LEAST ? [steadyCrowd(times, period, stepMs)] : [];
  });
  const known = crowds.filter((crowd) => crowd !== null);
  if (known.length < crowds.length) return none(WALKS);
  if (known.length === 0) return none('too few frames beside the others of its sender');
  if (known.some(({ near }) => near < NEAR_LEAST))
    return none('it comes too unevenly against the others of its sender');
  const crowd = together(known, period, stepMs);
  if (!crowd) return none('it lies elsewhere after each waking');
  return {
    phase: { ms: wrapped(crowd.middle, periodMs), spreadMs: crowd.spread, n: crowd.n, anchor: anchor.key },
    why: '',
  };
}

/**
 * [members] the phases of all frames of one sender, against the anchor that most of them keep to.
 * @param stepMs stamps of its bus are told apart by so much
 * Cost: the sender's frames, for each anchor that is tried.
 */
export function phasesOf(members: readonly PhaseInput[], stepMs: number): Phase[] {
  const unsteady = members.map(() => none('no frame of its sender keeps a steady rhythm'));
  const told = (phases: readonly Phase[]): number => phases.filter(({ phase }) => phase !== null).length;
  let best: Phase[] = unsteady;
  for (const anchor of anchorsOf(members)) {
    const phases = members.map((input) => phaseOf(input, anchor, stepMs));
    if (told(phases) > told(best) || best === unsteady) best = phases;
    if (told(best) >= FITTING * members.length) break;
  }
  return best;
}
