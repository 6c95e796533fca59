/**
 * How surprising it is that an identifier of the first capture does not come in the second, were its sender there: by the
 * circumstances that both captures share, by its rhythm, and for what only comes now and then by what it goes with.
 */
import type { Exposure } from './circumstances.ts';
import type { Pairing } from './pairing.ts';
import type { ComparisonProfile, IdentifierProfile } from './profile-types.ts';
import { byteTrigger, wakingTrigger } from './triggers.ts';

export interface Silence {
  /** Chance of its silence with the sender there, 0..1. */
  readonly q: number;
  /** It keeps a rhythm and was due throughout: nothing but its sender, or what rules it, explains the silence. */
  readonly plain: boolean;
  readonly words: string;
}

/** No circumstances are matched so well that a mode that nothing tells can be ruled out. */
const UNTOLD_MODE = 0.01;
/** Frames that show a rhythm. */
const RHYTHM_FRAMES = 6;
/** So many frames without a rhythm may still have been there all the time. */
const DENSE_FRAMES = 30;
/** A silence that lasts less than this many times the longest one of the first capture is nothing unusual. */
const UNUSUAL_TIMES = 2;
const USUAL = 0.6;
/** Periods that must have been due, on the scale of an exponential. */
const PERIODS_SCALE = 3;
const DUE_SCALE_S = 0.7;

const seconds = (s: number): string => `${s < 10 ? s.toFixed(1) : s.toFixed(0)} s`;

/** Its period, or its mean interval where it comes without one. */
function usualS({ timing, count, present }: IdentifierProfile): number {
  if (timing.periodMs !== null) return timing.periodMs / 1000;
  return present.reduce((sum, { fromS, toS }) => sum + toS - fromS, 0) / Math.max(1, count - 1);
}

export const hasRhythm = ({ timing, count }: IdentifierProfile): boolean =>
  timing.periodMs !== null && count >= RHYTHM_FRAMES;

/** By its rhythm alone; null where it keeps none, or came too seldom to be due all the time. @param heard the capture that has it */
export function rhythmSilence(
  identifier: IdentifierProfile,
  { dueS, longestWithoutS }: Exposure,
  heard: 'first' | 'second' = 'first',
): Silence | null {
  const without = heard === 'first' ? 'second' : 'first';
  const rhythmic = hasRhythm(identifier);
  if (!rhythmic && identifier.count < DENSE_FRAMES) return null;
  const periodS = usualS(identifier);
  const tooShort = Math.exp(-dueS / Math.max(DUE_SCALE_S, PERIODS_SCALE * periodS));
  const ratio = dueS > 0 ? longestWithoutS / dueS : Infinity;
  const usual = ratio >= 1 / UNUSUAL_TIMES ? USUAL : 0.2 * ratio;
  const q = Math.min(1, Math.max(UNTOLD_MODE, tooShort, usual));
  const about = identifier.timing.periodMs === null ? 'about every' : 'every';
  const rhythm = `${about} ${Number((1000 * periodS).toPrecision(identifier.timing.periodMs === null ? 2 : 4))} ms`;
  const plain = dueS >= DUE_SCALE_S && q <= 0.1;
  if (!rhythmic && !plain) return null;
  if (dueS < DUE_SCALE_S)
    return { q: 1, plain, words: `the ${without} was in none of the states in which it came ${rhythm}` };
  const words = `came ${rhythm}; missing from the ${without} for the ${seconds(dueS)} in which it was due, while the ${heard} was never without it for more than ${seconds(longestWithoutS)} in the same circumstances`;
  return { q, plain, words };
}

/** All n occasions in the first by chance: each falls into either capture by its length. */
function rareChance(occasions: number, { secondsA, secondsB }: Exposure): number {
  if (secondsA <= 0 || secondsB <= 0) return 1;
  return (secondsA / (secondsA + secondsB)) ** occasions;
}

function eventSilence(
  identifier: IdentifierProfile,
  exposure: Exposure,
  pairing: Pairing,
  { a, b, unknownReason }: Setting,
): Silence {
  const occasions = identifier.present.length;
  const times = `${occasions} ${occasions === 1 ? 'time' : 'times'}`;
  const trigger = byteTrigger(identifier, pairing.pairs, a.durationS);
  if (trigger) return { q: Math.max(UNTOLD_MODE, trigger.q), plain: false, words: trigger.words };
  const waking = wakingTrigger(identifier, a, b, pairing.buses.get(identifier.bus) ?? '');
  const left = Math.max(0, occasions - (waking ? identifier.appearances.length : 0));
  const rate = Math.max(unknownReason, rareChance(left, exposure));
  const q = Math.max(UNTOLD_MODE, rate * (waking?.q ?? 1));
  const words = `came ${times} without a rhythm in ${seconds(exposure.secondsA)}; the second has ${seconds(exposure.secondsB)} of such circumstances${waking ? `; it ${waking.words}` : ''}`;
  return { q, plain: false, words };
}

/** An answer is missed where its question was asked. */
function replySilence(
  identifier: IdentifierProfile,
  pairing: Pairing,
  a: ComparisonProfile,
  b: ComparisonProfile,
): Silence {
  const asked = identifier.timing['replyTo'];
  const partner = pairing.buses.get(identifier.bus);
  const inB = b.identifiers.find(({ bus, id }) => bus === partner && id === asked)?.count ?? 0;
  const bySelf = b.asked
    .filter(({ bus, id }) => bus === partner && id === asked)
    .reduce((sum, { count }) => sum + count, 0);
  const questions = inB + bySelf;
  if (questions === 0)
    return { q: 1, plain: false, words: `answers ${String(asked)}, which was not asked in the second` };
  const before =
    (a.identifiers.find(({ bus, id }) => bus === identifier.bus && id === asked)?.count ?? 0) +
    a.asked.filter(({ bus, id }) => bus === identifier.bus && id === asked).reduce((sum, { count }) => sum + count, 0);
  const missed = Math.max(1, Math.floor((questions * Math.min(identifier.count, before)) / Math.max(1, before)));
  const q = Math.max(UNTOLD_MODE, 0.5 ** Math.min(20, missed));
  return {
    q,
    plain: false,
    words: `answers ${String(asked)}, which was asked ${questions} times in the second without an answer`,
  };
}

export interface Setting {
  readonly a: ComparisonProfile;
  readonly b: ComparisonProfile;
  readonly pairing: Pairing;
  /** Chance that what comes now and then stays away for a reason that is not known. */
  readonly unknownReason: number;
}

export function silenceOf(identifier: IdentifierProfile, exposure: Exposure, setting: Setting): Silence {
  const { pairing, a, b } = setting;
  const byRhythm = rhythmSilence(identifier, exposure);
  if (byRhythm) return byRhythm;
  return identifier.timing.kind === 'reply'
    ? replySilence(identifier, pairing, a, b)
    : eventSilence(identifier, exposure, pairing, setting);
}
