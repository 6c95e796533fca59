/**
 * Which frames trials may send, in which order, and how likely each is needed: the plan's frames that can be produced and that were shown harmless or
 * released by name. By sender, since a module misses a partner and not a frame; the likeliest sender first.
 */
import { frameKey } from '../../map/identifiers.ts';
import type { SignalMap } from '../../map/schema.ts';
import type { KeepAlivePlan, NeedReason, PlannedFrame } from '../needs/types.ts';
import { whyKeptOut } from '../sending/choice.ts';
import { restMark } from '../sending/marked-rest.ts';
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
  const groupOf = ({ group, key }: BenchCandidate): string => group ?? `alone ${key}`;
  for (const each of candidates) most.set(groupOf(each), Math.max(most.get(groupOf(each)) ?? 0, each.likelihood));
  const rank = (each: BenchCandidate): number => most.get(groupOf(each)) as number;
  return candidates.toSorted(
    (a, b) =>
      rank(b) - rank(a) || (groupOf(a) < groupOf(b) ? -1 : groupOf(a) > groupOf(b) ? 1 : b.likelihood - a.likelihood),
  );
}

/** released: keys of frames that a person released. */
export function benchCandidates(
  map: SignalMap,
  plan: KeepAlivePlan,
  released: ReadonlySet<string>,
): Pick<BenchRecord, 'candidates' | 'heldBack'> {
  const whyOut = ({ frame, whyNotProduced, periodMs }: PlannedFrame): string | null => {
    if (whyNotProduced !== null) return whyNotProduced;
    if (periodMs === null || !(periodMs > 0)) return 'it has no period to send it with';
    if (restMark(frame) === null) return 'its payload at rest does not come from a span that was marked as at rest';
    return whyKeptOut(map, frame, released);
  };
  const goes = plan.frames.filter((planned) => whyOut(planned) === null);
  const candidates = goes.map((planned) => ({
    key: frameKey(planned.frame),
    name: planned.frame.name,
    group: planned.frame.sender?.group ?? null,
    likelihood: likelihoodOf(planned, goes.length),
  }));
  const heldBack = plan.frames.flatMap((planned) => {
    const why = whyOut(planned);
    return why === null ? [] : [{ name: planned.frame.name || frameKey(planned.frame), why }];
  });
  return { candidates: bySender(candidates), heldBack };
}
