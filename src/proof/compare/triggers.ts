/**
 * What an identifier that only comes now and then goes with: a waking, or the change of a byte that both captures have. If that
 * happened in the second capture without it, its sender is missed; if it never happened there, nothing follows.
 */
import type { Pair } from './pairing.ts';
import type { ComparisonProfile, IdentifierProfile } from './profile-types.ts';
import { STEPS_KEPT } from './byte-history.ts';

/** An event and a frame belong together within this time, seconds, before and after. */
const TOGETHER_S = 0.25;
/** Events of the first capture needed, and the share of the frame's own occasions that they must explain. */
const OCCASIONS_LEAST = 3;
const EXPLAINED_LEAST = 0.7;
/** Chance that so many occasions fall beside events by accident, over all bytes looked at. */
const ACCIDENT_MOST = 0.01;
/** Of the events, the share followed by the frame below which the byte is not what it goes with. */
const FOLLOWED_LEAST = 0.5;
/** After a waking: within this time, seconds. */
const AFTER_WAKING_S = 4;

/**
 * Chance that none of `m` new events is followed, after `k` of `n` were: the rate is not known, every rate equally likely before
 * (Laplace's rule of succession, Beta-binomial).
 */
export function noneFollowed(k: number, n: number, m: number): number {
  let p = 1;
  for (let i = 0; i < m; i++) p *= (n - k + 1 + i) / (n + 2 + i);
  return p;
}

export interface Trigger {
  /** Chance of silence in the second capture with the sender there. */
  readonly q: number;
  readonly words: string;
}

const occasionsOf = ({ present }: IdentifierProfile): number[] => present.map(({ fromS }) => fromS);

/** Chance of `k` or more of `n` occasions within reach of `events` events strewn over `seconds`: binomial tail. */
export function accidentChance(k: number, n: number, events: number, seconds: number): number {
  const near = Math.min(1, (2 * TOGETHER_S * events) / Math.max(TOGETHER_S, seconds));
  if (near >= 1) return 1;
  let term = (1 - near) ** n;
  let below = 0;
  for (let i = 0; i < k; i++) {
    below += term;
    term *= ((n - i) / (i + 1)) * (near / (1 - near));
  }
  return Math.max(0, 1 - below);
}

function followed(events: readonly number[], occasions: readonly number[]): number {
  return events.filter((at) => occasions.some((from) => Math.abs(from - at) <= TOGETHER_S)).length;
}

/** Times of a byte's changes; the first value is no change. */
function changesOf(identifier: IdentifierProfile, byte: number): number[] | null {
  const steps = identifier.bytes[byte]?.steps;
  return steps ? steps.slice(1).map(({ atS }) => atS) : null;
}

/** The byte whose changes best explain when the identifier comes; null where none does. @param seconds of the first capture */
export function byteTrigger(identifier: IdentifierProfile, pairs: readonly Pair[], seconds: number): Trigger | null {
  const occasions = occasionsOf(identifier);
  if (occasions.length < OCCASIONS_LEAST || occasions.length > STEPS_KEPT) return null;
  const looked = pairs.reduce((sum, { a }) => sum + a.bytes.length, 0);
  let best: (Trigger & { readonly explained: number }) | null = null;
  for (const { a, b } of pairs) {
    for (let byte = 0; byte < Math.min(a.bytes.length, b.bytes.length); byte++) {
      const events = changesOf(a, byte);
      if (!events || events.length < OCCASIONS_LEAST) continue;
      const k = followed(events, occasions);
      const near = followed(occasions, events);
      const explained = near / occasions.length;
      if (accidentChance(near, occasions.length, events.length, seconds) * looked > ACCIDENT_MOST) continue;
      if (k < OCCASIONS_LEAST || k < FOLLOWED_LEAST * events.length || explained < EXPLAINED_LEAST) continue;
      const again = changesOf(b, byte)?.length ?? STEPS_KEPT;
      const q = noneFollowed(k, events.length, again);
      const words = `comes when byte ${byte} of ${a.id} changes (${k} of ${events.length} times); in the second that changed ${again} times without it`;
      if (!best || explained > best.explained || (explained === best.explained && q < best.q))
        best = { q, words, explained };
    }
  }
  return best;
}

/** Wakings after which it came, and how many the second capture had without it. */
export function wakingTrigger(
  identifier: IdentifierProfile,
  a: ComparisonProfile,
  b: ComparisonProfile,
  partner: string,
): Trigger | null {
  const seen = (profile: ComparisonProfile, bus: string): number[] =>
    (profile.buses.find(({ name }) => name === bus)?.wakings ?? []).flatMap((waking, at) => (waking.seen ? [at] : []));
  const wakings = seen(a, identifier.bus);
  const again = seen(b, partner).length;
  const came = new Set(
    identifier.appearances.filter(({ delayS }) => delayS <= AFTER_WAKING_S).map(({ waking }) => waking),
  );
  const k = wakings.filter((waking) => came.has(waking)).length;
  if (k === 0 || again === 0) return null;
  return {
    q: noneFollowed(k, wakings.length, again),
    words: `came within ${AFTER_WAKING_S} s of ${k} of ${wakings.length} wakings; the second has ${again} without it`,
  };
}
