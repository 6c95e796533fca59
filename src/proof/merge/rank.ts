/**
 * Whose version of two that contradict each other. What a person set goes before all, then standing; only these decide. Where they are
 * equal one of the two is still in the map, for a frame must be readable, but it is marked `disputed` and falls to a guess.
 */
import { isByHand } from '../../map/evidence.ts';
import type { MapSignal } from '../../map/schema.ts';
import { canonical } from './canonical.ts';
import type { Side } from './types.ts';

export interface Ranked {
  readonly standing?: string | undefined;
  readonly confidence?: number | undefined;
  readonly evidence?: readonly unknown[] | undefined;
  readonly [key: string]: unknown;
}

/** What an item was before a dispute lowered it. */
interface Disputed {
  readonly standing?: string;
  readonly confidence: number;
}

export const BY_HAND = 3;
export const STANDINGS = ['guess', 'supported', 'proven'] as const;

/** As it stood before a dispute: so that merging once more comes to the same. */
export function undisputed<T extends Ranked>(item: T): T {
  const disputed = item['disputed'] as Disputed | undefined;
  if (!disputed) return item;
  const { disputed: _, ...rest } = item;
  return { ...rest, ...disputed } as unknown as T;
}

/** 3 by hand, 2 proven, 1 supported, 0 guess. A guard has a rule that held, which is worth as much as support. */
export function rankOf(item: Ranked): number {
  if (isByHand(item)) return BY_HAND;
  const { standing } = undisputed(item);
  return standing === undefined ? 1 : STANDINGS.indexOf(standing as MapSignal['standing']);
}

export interface Choice {
  readonly side: Side;
  readonly decided: boolean;
}

/** The same for the same two whichever comes first. Lists stand for what goes or stays together. */
export function choose(first: readonly Ranked[], second: readonly Ranked[]): Choice {
  const most = (items: readonly Ranked[], of: (item: Ranked) => number): number => Math.max(...items.map(of));
  const plain = [first, second].map((items) => items.map(undisputed));
  const compare = (of: (item: Ranked) => number): number => most(plain[0] ?? [], of) - most(plain[1] ?? [], of);
  const byRank = compare(rankOf);
  if (byRank !== 0) return { side: byRank > 0 ? 'first' : 'second', decided: true };
  const weaker = [compare((item) => item.evidence?.length ?? 0), compare((item) => item.confidence ?? 0)];
  const decisive =
    weaker.find((difference) => difference !== 0) ?? (canonical(plain[0]) <= canonical(plain[1]) ? 1 : -1);
  return { side: decisive > 0 ? 'first' : 'second', decided: false };
}

/** In dispute nothing is supported, and one of two versions is right at best. */
const DISPUTED_MOST = 0.5;

export function inDispute<T extends Ranked>(item: T): T {
  const plain = undisputed(item);
  const { standing, confidence = 1 } = plain;
  const before: Disputed = { ...(standing === undefined ? {} : { standing }), confidence };
  return {
    ...plain,
    ...(standing === undefined ? {} : { standing: 'guess' }),
    confidence: Math.min(confidence, DISPUTED_MOST),
    disputed: before,
  };
}

/** What agrees with one side of a dispute does not end it; a person's hand does, but not where two persons' are against each other. */
export function stillDisputed<T extends Ranked>(item: T, versions: readonly Ranked[]): T {
  const disputed = versions.filter((version) => 'disputed' in version);
  return disputed.some((version) => isByHand(version) || !isByHand(item)) ? inDispute(item) : item;
}

/** As the finders name a field by its place: "b2", "b0_1", "b3_bit6", "b1_2_bits4to7", "b4_5_bits3to3_page9". */
const BY_PLACE = /^b\d+(_\d+)?(_bits?\d+(to\d+)?)?(_page[\d_]+)?$/;

/** Made from place or identifier ("can0_1F4", "f_1F4_8"), so nobody named it. A name that just holds those digits loses to another; both are listed. */
export function isMadeName(name: string, id: string): boolean {
  const digits = Number(id).toString(16);
  const hasId = name.toLowerCase().includes(digits.length < 3 ? digits.padStart(2, '0') : digits);
  return name === '' || hasId || BY_PLACE.test(name);
}
