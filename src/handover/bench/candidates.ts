/**
 * Which frames trials may send, in which order, and how likely each is needed: those of the plan that a schedule may send of itself. By sender, since a module misses a partner and not a frame; the likeliest sender first.
 */
import { frameKey } from '../../map/identifiers.ts';
import type { SignalMap } from '../../map/schema.ts';
import type { KeepAlivePlan, NeedReason, PlannedFrame } from '../needs/types.ts';
import { calledFrame } from '../sending/choice.ts';
import { planSchedule } from '../sending/schedule-plan.ts';
import { senderOf } from './answers.ts';
import type { BenchCandidate, BenchRecord } from './record-schema.ts';

/** How far each kind of reason moves the odds that a frame is needed; judgement, no source. */
const ODDS: Readonly<Record<NeedReason['kind'], { needed: number; 'not-needed': number }>> = {
  bench: { needed: 50, 'not-needed': 0.02 },
  'by-hand': { needed: 10, 'not-needed': 0.1 },
  absence: { needed: 8, 'not-needed': 0.2 },
  'lost-communication-code': { needed: 8, 'not-needed': 0.5 },
  network: { needed: 3, 'not-needed': 0.5 },
  order: { needed: 2, 'not-needed': 0.7 },
};
/** Needed frames that are taken for granted among any number of candidates. */
const NEEDED_BEFORE = 2.5;
const LIKELIHOOD = { least: 0.01, most: 0.95 };

function likelihoodOf({ reasons, need }: PlannedFrame, count: number): number {
  const share = Math.min(0.25, Math.max(0.03, NEEDED_BEFORE / count));
  const odds = reasons.reduce((product, { kind, speaksFor }) => product * ODDS[kind][speaksFor], share / (1 - share));
  const settled = need === 'required' ? Math.max(odds, 10) : odds;
  return Math.min(LIKELIHOOD.most, Math.max(LIKELIHOOD.least, settled / (1 + settled)));
}

/** By sender, the likeliest sender first, and within it the likeliest frame. Where a sender is not known each frame is one. */
function bySender(candidates: readonly BenchCandidate[]): BenchCandidate[] {
  const most = new Map<string, number>();
  for (const each of candidates) most.set(senderOf(each), Math.max(most.get(senderOf(each)) ?? 0, each.likelihood));
  const rank = (each: BenchCandidate): number => most.get(senderOf(each)) as number;
  return candidates.toSorted(
    (a, b) =>
      rank(b) - rank(a) ||
      (senderOf(a) < senderOf(b) ? -1 : senderOf(a) > senderOf(b) ? 1 : b.likelihood - a.likelihood),
  );
}

/** What a schedule sends of itself, again and again: a trial cannot tell of a frame that waits for something. released: keys of frames that a person released. */
export function benchCandidates(
  map: SignalMap,
  plan: KeepAlivePlan,
  released: ReadonlySet<string>,
): Pick<BenchRecord, 'candidates' | 'heldBack'> {
  const scheduled = planSchedule(map, plan.frames, released);
  const repeating = new Set(
    scheduled.frames.filter(({ periodUs }) => periodUs > 0).map(({ frame }) => frameKey(frame)),
  );
  const goes = plan.frames.filter(({ frame }) => repeating.has(frameKey(frame)));
  const candidates = goes.map((planned) => ({
    key: frameKey(planned.frame),
    name: planned.frame.name,
    group: planned.frame.sender?.group ?? null,
    likelihood: likelihoodOf(planned, goes.length),
  }));
  const single = scheduled.frames.filter(({ frame }) => !repeating.has(frameKey(frame)));
  const heldBack = [
    ...scheduled.leftOut.map(({ name, why }) => ({ name, why })),
    ...single.map(({ frame }) => ({ name: calledFrame(frame), why: 'it is not sent at a period' })),
  ];
  return { candidates: bySender(candidates), heldBack };
}
