/** Which identifiers of other senders react to the absence of one: in their rhythm, in their payload, by stopping or by starting. */
import { FAR_PERIOD_SHARE, PERIODS_NEEDED } from '../hold/thresholds.ts';
import { isUsedAlike } from './byte-changes.ts';
import { matchCircumstances } from './circumstances.ts';
import { payloadReaction } from './no-data.ts';
import { frameOf, keyText, type Pair, type Pairing } from './pairing.ts';
import type { ComparisonProfile, IdentifierProfile } from './profile-types.ts';
import { rhythmSilence } from './silence.ts';
import type { Judged, Reaction } from './types.ts';

/** A pace of the first capture counts as the same within this share. */
const PACE_TOLERANCE = 0.03;
/** Rates of tasks differ by whole factors; a change of less than this is something finer. */
const RATE_CHANGE = 1.2;
/** A silence of the second while its bus is awake counts from this long on, and from so many times the longest of the first. */
const STOPPED_LEAST_S = 10;
const STOPPED_TIMES = 3;
/** If more of the shared identifiers than this react, the second capture is of another state: nothing is a reaction then. */
const REACTING_MOST = 0.5;
/** What is less sure is left among the changed payloads. */
const LISTED = 0.5;

/** Null where either has no steady period or too few frames, and where they agree. */
export function changedPeriod({ a, b }: Pair): { readonly periodMsA: number; readonly periodMsB: number } | null {
  const [periodMsA, periodMsB] = [a.timing.periodMs, b.timing.periodMs];
  if (periodMsA === null || periodMsB === null) return null;
  if (Math.min(a.count, b.count) <= PERIODS_NEEDED) return null;
  const spread = Math.max(a.timing.jitterMs ?? 0, b.timing.jitterMs ?? 0) / Math.sqrt(Math.min(a.count, b.count));
  const allowed = FAR_PERIOD_SHARE * Math.max(periodMsA, periodMsB) + 3 * spread;
  return Math.abs(periodMsA - periodMsB) > allowed ? { periodMsA, periodMsB } : null;
}

const ms = (value: number): string => `${Number(value.toPrecision(4))} ms`;
const base = (a: IdentifierProfile): Pick<Reaction, 'bus' | 'id' | 'extended' | 'group'> => ({
  ...frameOf(a),
  group: a.group,
});

const near = (ms: number, other: number): boolean => Math.abs(ms - other) <= PACE_TOLERANCE * other;

/** Whether the first had the second's period in some mode, or both have the same in a mode that both know. */
function isOfMode({ a, b }: Pair, periodMsB: number): boolean {
  const [before, after] = [a.timing.byMode ?? {}, b.timing.byMode ?? {}];
  const periods = Object.values(before).map(({ periodMs }) => periodMs);
  if (periods.some((periodMs) => periodMs !== null && near(periodMsB, periodMs))) return true;
  return Object.entries(before).some(([mode, { periodMs }]) => {
    const other = after[mode]?.periodMs ?? null;
    return periodMs !== null && other !== null && near(other, periodMs);
  });
}

/** Another rhythm than any that the first capture had for a while. */
function timingReaction({ a, b }: Pair): Reaction | null {
  const changed = changedPeriod({ a, b });
  if (!changed) return null;
  const { periodMsA, periodMsB } = changed;
  const known =
    a.paceMs && periodMsB >= a.paceMs.least * (1 - PACE_TOLERANCE) && periodMsB <= a.paceMs.most * (1 + PACE_TOLERANCE);
  if (known || isOfMode({ a, b }, periodMsB)) return null;
  const times = Math.max(periodMsA / periodMsB, periodMsB / periodMsA);
  return {
    ...base(a),
    how: periodMsB > periodMsA ? 'slower' : 'faster',
    confidence: times >= RATE_CHANGE ? 0.95 : 0.75,
    why: `every ${ms(periodMsA)} in the first, every ${ms(periodMsB)} in the second, which the first never had for a dozen frames`,
    bytes: [],
    ...changed,
  };
}

/** The longest stretch, seconds, in which a bus was awake and one of its identifiers silent, and where that began. */
function longestSilence(
  identifier: IdentifierProfile,
  profile: ComparisonProfile,
): { readonly lastsS: number; readonly fromS: number } {
  const wakings = profile.buses.find(({ name }) => name === identifier.bus)?.wakings ?? [];
  let longest = { lastsS: 0, fromS: 0 };
  for (const waking of wakings) {
    let fromS = waking.fromS;
    for (const span of [...identifier.present, { fromS: Infinity, toS: Infinity }]) {
      if (span.toS < waking.fromS) continue;
      const lastsS = Math.min(span.fromS, waking.toS) - fromS;
      if (lastsS > longest.lastsS) longest = { lastsS, fromS };
      fromS = span.toS;
      if (span.fromS >= waking.toS) break;
    }
  }
  return longest;
}

export interface Stop {
  readonly pair: Pair;
  readonly atS: number;
  readonly words: string;
}

/** Identifiers that the second capture loses on the way. */
export function stopsOf(a: ComparisonProfile, b: ComparisonProfile, pairs: readonly Pair[]): Stop[] {
  return pairs.flatMap((pair) => {
    const { periodMs } = pair.a.timing;
    if (periodMs === null || pair.a.count <= PERIODS_NEEDED) return [];
    const [own, other] = [longestSilence(pair.a, a), longestSilence(pair.b, b)];
    const enough = Math.max(STOPPED_LEAST_S, STOPPED_TIMES * own.lastsS + (5 * periodMs) / 1000);
    if (other.lastsS < enough) return [];
    const words = `silent from ${other.fromS.toFixed(1)} s on for ${other.lastsS.toFixed(0)} s while its bus goes on; in the first never for more than ${own.lastsS.toFixed(1)} s`;
    return [{ pair, atS: other.fromS, words }];
  });
}

export const stopReaction = ({ pair, words }: Stop): Reaction => ({
  ...base(pair.a),
  how: 'stopped later',
  confidence: 0.75,
  why: words,
  bytes: [],
});

function payloadReactionOf({ a, b }: Pair, sameUse: boolean): Reaction | null {
  const found = payloadReaction(a, b, sameUse);
  if (!found) return null;
  const { how, confidence, words, bytes } = found;
  return { ...base(a), how, confidence, why: words, bytes };
}

/** What only the second has, though the first was long in the same circumstances. */
function starts(a: ComparisonProfile, b: ComparisonProfile, pairing: Pairing): Reaction[] {
  if (pairing.onlyInB.length === 0) return [];
  const back = {
    buses: new Map([...pairing.buses].flatMap(([own, other]) => (other === null ? [] : [[other, own]]))),
    pairs: pairing.pairs.map((pair) => ({ a: pair.b, b: pair.a })),
  };
  const circumstances = matchCircumstances(b, a, back);
  return pairing.onlyInB.flatMap((identifier): Reaction[] => {
    const silence = rhythmSilence(identifier, circumstances.exposureOf(identifier), 'second');
    if (!silence?.plain) return [];
    const why = `only in the second: there it ${silence.words}`;
    return [{ ...frameOf(identifier), group: null, how: 'starts', confidence: 0.75, why, bytes: [] }];
  });
}

/** Questions of other senders that the missing one answered. */
function unanswered(pairing: Pairing, sentBy: readonly Judged[]): Reaction[] {
  const gone = new Set(sentBy.map(keyText));
  const asked = new Map(
    pairing.onlyInA
      .filter((identifier) => gone.has(keyText(identifier)) && identifier.timing.kind === 'reply')
      .map((identifier) => [`${identifier.bus}/${String(identifier.timing['replyTo'])}`, identifier]),
  );
  return pairing.pairs.flatMap(({ a, b }): Reaction[] => {
    const answer = asked.get(`${a.bus}/${a.id}`);
    // Two rhythms of one rate look like question and answer too.
    if (!answer || a.timing.kind === 'periodic') return [];
    const why = `asked ${b.count} times in the second; ${answer.id}, which answered it, no longer comes`;
    return [{ ...base(a), how: 'unanswered', confidence: 0.85, why, bytes: [] }];
  });
}

/** The surest reaction of each identifier, surest first. */
export function reactionsTo(
  a: ComparisonProfile,
  b: ComparisonProfile,
  pairing: Pairing,
  sentBy: readonly Judged[],
  stops: readonly Stop[],
): Reaction[] {
  const byFrame = new Map<string, Reaction>();
  const sameUse = isUsedAlike(pairing.pairs);
  const take = (reaction: Reaction | null): void => {
    if (!reaction || reaction.confidence < LISTED) return;
    const known = byFrame.get(keyText(reaction));
    if (!known || known.confidence < reaction.confidence) byFrame.set(keyText(reaction), reaction);
  };
  for (const pair of pairing.pairs) {
    take(timingReaction(pair));
    take(payloadReactionOf(pair, sameUse));
  }
  stops.map(stopReaction).forEach(take);
  unanswered(pairing, sentBy).forEach(take);
  const crowded = byFrame.size > Math.max(3, REACTING_MOST * pairing.pairs.length);
  starts(a, b, pairing).forEach(take);
  const all = [...byFrame.values()].sort((x, y) => y.confidence - x.confidence);
  if (!crowded) return all;
  const doubt = `; but ${byFrame.size} of ${pairing.pairs.length} shared identifiers changed: the second may show another state altogether`;
  return all.map((each) => ({ ...each, confidence: each.confidence / 2, why: each.why + doubt }));
}
