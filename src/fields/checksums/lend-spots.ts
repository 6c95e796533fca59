/**
 * How likely a tag lies at a place, by where the identifiers of the bus have theirs. Of rules that come out alike from each of their bytes (exclusive or,
 * complemented sums, copies) any byte may be the tag: there this decides, with what the frame itself says of the place.
 */
import { middleOf, startOf, type RuleHabit, type TagSpot } from './lend-habits.ts';

/** Whether any of its bytes follows from the others by the same rule. */
export const isSymmetric = ({ method, complemented }: Pick<RuleHabit, 'method' | 'complemented'>): boolean =>
  method === 'xor' || method === 'copy' || (method === 'sum' && complemented);

/** Bytes that a tag of so many bits takes. */
export const bytesOf = (length: number): number => Math.max(1, length / 8);

/** A tag's first byte and lowest bit, in the part of a frame from its first to its last byte. */
export interface TagAt {
  readonly byte: number;
  readonly bit: number;
  readonly length: number;
  readonly first: number;
  readonly last: number;
}

/** Shares of tags at the start, at the end and in the middle of what they guard (common practice, no source). */
const FIRST_SHARE = 0.3;
const LAST_SHARE = 0.5;
const MIDDLE_SHARE = 0.1;
const ELSEWHERE_SHARE = 0.1;

function usualShare({ byte, length, first, last }: TagAt): number {
  const wide = bytesOf(length);
  if (byte === first) return FIRST_SHARE;
  if (byte + wide - 1 === last) return LAST_SHARE;
  return byte === middleOf(first, last, wide) ? MIDDLE_SHARE : ELSEWHERE_SHARE / (last - first + 1);
}

/** Spots of rules that say by themselves which bytes are the tag; of all where there are none. */
export const spotsOfBus = (habits: readonly RuleHabit[], length: number): TagSpot[] => {
  const alike = habits.filter((habit) => bytesOf(habit.length) === bytesOf(length) && habit.length < 8 === length < 8);
  const told = alike.filter((habit) => !isSymmetric(habit));
  return (told.length > 0 ? told : alike).flatMap(({ spots }) => spots);
};

/** How well a spot says what the maker meant: so many bytes from the start, the end or the middle say it the less, the more they are. */
export const meant = ({ from, offset }: TagSpot, wide: number): number =>
  1 / (1 + Math.abs(from === 'last' ? offset + wide - 1 : offset));

/** How many identifiers have their tag at a place, and how many there are. */
function timesAt(at: TagAt, spots: readonly TagSpot[]): { here: number; all: number } {
  const wide = bytesOf(at.length);
  const times = { first: 0, last: 0, middle: 0 };
  let all = 0;
  for (const spot of spots) {
    if (spot.from === 'first') all += spot.frames;
    const isHere = spot.bit === at.bit && startOf(spot, at.first, at.last, wide) === at.byte;
    if (isHere) times[spot.from] += spot.frames * meant(spot, wide);
  }
  return { here: Math.max(times.first, times.last, times.middle), all };
}

/**
 * log2 of the share of tags at a place, by the spots of the same rule, which is mostly one maker's, and of the bus. What the bus does counts as much as one
 * identifier with the rule, common practice as much as one identifier of the bus.
 */
export function spotBits(at: TagAt, ofRule: readonly TagSpot[], ofBus: readonly TagSpot[]): number {
  const [own, bus] = [timesAt(at, ofRule), timesAt(at, ofBus)];
  return Math.log2((own.here + (bus.here + usualShare(at)) / (bus.all + 1)) / (own.all + 1));
}
