/**
 * Tags that no rule explains. Bytes at an edge or beside the counter that change like a tag are one where the same content comes again: always
 * with the same tag means a rule that was not found (`unsolved`), with another tag each time a key or hidden state (`mac`), which no capture can
 * show. Where content hardly ever comes again nothing is said. Never a guess at the rule.
 */
import type { Placement } from '../../frames/bits.ts';
import type { MapChecksum, MapCounter, When } from '../../map/schema.ts';
import { goesOnBeside } from '../beside-counter.ts';
import { BITS_SET } from '../bits-set.ts';
import { claim, less } from '../mask.ts';
import { movedMask, type PayloadRows } from '../payload-rows.ts';
import type { Explained } from '../types.ts';
import { distinctPayloads, gatherEvidence } from './evidence.ts';
import type { RuleHabit } from './lend-habits.ts';
import { isCopy, makePlace } from './places.ts';
import { tagNibbles, tagRuns, type TagNibble, type TagRun } from './tag-bytes.ts';
import { mayBeFloat } from './tag-float.ts';
import { tagOfCounter } from './tag-of-counter.ts';
import {
  compareRepeats,
  countSentAgain,
  followsContent,
  isDrawnAnew,
  isKeyed,
  SEEN_MIN,
  type Repeats,
} from './tag-repeats.ts';
import { claimOf, placementOf, sureOf, tagMask, whyOf, whyUnseen, type Tag, type TagMethod } from './tag-words.ts';

/** What is known of the frame. */
interface Frame {
  readonly rows: PayloadRows;
  readonly counters: readonly MapCounter[];
  readonly when: When;
  /** Distinct payloads in the order sent. */
  readonly payloads: readonly Uint8Array[];
  /** [bytes] bits that neither counters nor other findings hold; bits of counters. */
  readonly left: Uint8Array;
  readonly counting: Uint8Array;
  /** [bytes] bits that move. */
  readonly moved: Uint8Array;
}

const SAME_MIN = 0.99;
/** Of half a byte, which chance makes alike more often. */
const NIBBLES_SEEN_MIN = 24;

const ofRun = ({ byte, bytes }: TagRun): Tag => ({
  byte,
  bit: 0,
  length: bytes * 8,
});
const ofNibble = ({ byte, bit }: TagNibble): Tag => ({ byte, bit, length: 4 });

/** In frames of up to eight bytes a tag takes no more than half, and without a counter less: what is longer is ciphertext. */
const SHORT_FRAME = 8;
/** Bits that move beside a tag: where fewer do, nothing is guarded. */
const CONTENT_BITS = 3;

const besides = ({ byte, length }: Tag, counting: Uint8Array): boolean =>
  (counting[byte - 1] ?? 0) !== 0 || (counting[byte + Math.ceil(length / 8)] ?? 0) !== 0 || counting[byte] !== 0;

const isAtEdge = ({ byte, length }: Tag, { moved }: Pick<Frame, 'moved'>): boolean =>
  byte === 0 || byte + Math.ceil(length / 8) === moved.length;

/** Tag and counter adjoin, or the tag lies at an edge (common practice, no source). */
function liesLikeTag(tag: Tag, { counters, counting, moved }: Frame): boolean {
  const bytes = moved.length;
  const atEdge = isAtEdge(tag, { moved });
  const share = bytes <= SHORT_FRAME ? tag.length / 4 / bytes : 0;
  if (counters.length > 0) return share <= 1 && (atEdge || besides(tag, counting));
  const own = tagMask(tag, bytes);
  const content = moved.reduce((bits, mask, byte) => bits + BITS_SET[mask & ~own[byte]!]!, 0);
  return atEdge && share < 1 && content >= CONTENT_BITS;
}

/** A tag so long may be called keyed though it lies in the middle, or away from the counter. */
const KEYED_BITS = 16;
/**
 * Keyed tags are cut to 24 bits and more (AUTOSAR SecOC, profiles 1 to 3: 24 and 28 bits, from memory), and follow what they guard (its Secured I-PDU).
 */
const AUTHENTICATOR_BITS = 24;

/** Bits in the middle of a frame, beside what may as well be the number of a page: with no counter in sight they are ciphertext or noise. */
const isOnPages = (tag: Tag, frame: Frame): boolean =>
  frame.counters.length > 0 &&
  !isAtEdge(tag, frame) &&
  !frame.counters.some((counter) => goesOnBeside(frame.rows, counter as Placement, [placementOf(tag)]));

/** What random bits do as well is a tag only where it lies as one: beside a counter or, with none, at the end. */
function mayBeKeyed(tag: Tag, frame: Frame): boolean {
  const { counters, counting, moved, payloads } = frame;
  const bytes = tag.length / 8;
  if (counters.length === 0)
    return (
      tag.length >= AUTHENTICATOR_BITS && tag.byte + bytes === moved.length && !mayBeFloat(payloads, tag.byte, bytes)
    );
  const least = isAtEdge(tag, frame) && besides(tag, counting) ? 8 : KEYED_BITS;
  return tag.length >= least && !isOnPages(tag, frame);
}

/** Bits by which the same tag again is beyond chance where it never was another: 9 of them for the places of a bus at which a tag may lie. */
const SAME_BITS = 24;

/** Whether content brings the same tag again. A few that do not are broken frames, which needs more that do. */
function isSameAgain({ seen, same }: Repeats, length: number): boolean {
  if (length < 8) return seen >= NIBBLES_SEEN_MIN && same >= SAME_MIN * seen;
  return (same === seen && seen * length >= SAME_BITS) || (seen >= SEEN_MIN && same >= SAME_MIN * seen);
}

function verdictOf(tag: Tag, repeats: Repeats, frame: Frame): TagMethod | null {
  const mask = tagMask(tag, frame.moved.length);
  if (isSameAgain(repeats, tag.length))
    return followsContent(frame.payloads, mask, tag.length, frame.counters) ? 'unsolved' : null;
  return isKeyed(repeats, tag.length) && mayBeKeyed(tag, frame) ? 'mac' : null;
}

/** Where content hardly came again: so many random bits beside the counter, at the edge of the frame, are no noise of a value. Of fewer nothing is said. */
function unseenTag(runs: readonly TagRun[], frame: Frame): Explained<MapChecksum> | null {
  const tag = runs
    .map(ofRun)
    .find((each) => each.length >= AUTHENTICATOR_BITS && isAtEdge(each, frame) && besides(each, frame.counting));
  if (!tag) return null;
  const mask = tagMask(tag, frame.moved.length);
  const repeats = compareRepeats(frame.rows, mask);
  if (repeats.seen >= SEEN_MIN || !followsContent(frame.payloads, mask, tag.length, frame.counters)) return null;
  return claimOf(tag, 'mac', frame.when, UNSEEN_SURE, whyUnseen(repeats));
}
const UNSEEN_SURE = 0.6;

/** A tag beside a counter that steps on a change alone: its content comes again only where a frame is sent again as it was. */
function sentAgain(
  tag: Tag,
  repeats: Repeats,
  { rows, payloads, counters, moved, when }: Frame,
): Explained<MapChecksum> | null {
  const mask = tagMask(tag, moved.length);
  if (repeats.same < repeats.seen || counters.length === 0 || !followsContent(payloads, mask, tag.length, counters))
    return null;
  const again = countSentAgain(rows, mask, counters);
  if (again < (tag.length < 8 ? NIBBLES_SEEN_MIN : SEEN_MIN)) return null;
  const why =
    `It changes like a tag whenever the counter and other bits do; ${again} frames were sent again as they were, with the same value here: ` +
    `a rule, but none of the known kinds.`;
  return claimOf(tag, 'unsolved', when, sureOf(again), why);
}

/** A tag where others of the bus have theirs, with the counter where they have it; what little came again must not speak against it. */
function lentTag(habits: readonly RuleHabit[], runs: readonly TagRun[], frame: Frame): Explained<MapChecksum> | null {
  for (const { method, length, frames, ...habit } of habits) {
    if ((method !== 'mac' && method !== 'unsolved') || length % 8 !== 0) continue;
    const bytes = length / 8;
    const byte = frame.counters.flatMap((counter) =>
      habit.counters
        .filter((each) => each.bit === counter.lsb.bit && each.length === counter.length)
        .map(({ offset }) => counter.lsb.byte - offset),
    )[0];
    if (byte === undefined || !runs.some((run) => run.byte === byte && run.bytes === bytes)) continue;
    const repeats = compareRepeats(frame.rows, tagMask(ofRun({ byte, bytes }), frame.moved.length));
    const differ = repeats.seen - repeats.same;
    if (method === 'mac' ? !isDrawnAnew(repeats, length) : differ > (1 - SAME_MIN) * repeats.seen) continue;
    const why =
      `It changes like a tag, and lies where ${frames} other identifier${frames === 1 ? '' : 's'} of the bus ` +
      `${frames === 1 ? 'has' : 'have'} ${method === 'mac' ? 'one with a key' : 'one of no known kind'}; ` +
      `the same other bytes came again ${repeats.seen} times here, with another value in ${differ} of them.`;
    return claimOf(ofRun({ byte, bytes }), method, frame.when, LENT_SURE, why);
  }
  return null;
}
const LENT_SURE = 0.7;

/** Where only the counter moves, but for a few payloads. */
function withCounterAlone(frame: Frame): Explained<MapChecksum> | null {
  const byte = tagOfCounter(frame.payloads, frame.left, frame.counters);
  if (byte === null) return null;
  const why =
    'It changes with the counter beside it, and hardly anything else in the frame moves: a tag, but any rule over the counter explains it. ' +
    'A capture in which more bits move would settle it.';
  return claimOf({ byte, bit: 0, length: 8 }, 'unsolved', frame.when, ALONE_SURE, why);
}
const ALONE_SURE = 0.7;

/** Nibbles beside a counter of their own byte, or of the byte beside; none that shows another's moves. */
function nibblesOf({ payloads, left, counting, moved }: Frame): Tag[] {
  const evidence = gatherEvidence(moved.length, payloads, null);
  return tagNibbles(payloads, left)
    .map(ofNibble)
    .filter((tag) => besides(tag, counting) && !isCopy(makePlace(placementOf(tag), evidence, counting), evidence));
}

/** At most one: the longest run that lies like a tag. usable: [bytes] bits that no other findings hold. */
export function findUnsolved(
  rows: PayloadRows,
  counters: readonly MapCounter[],
  usable: Uint8Array,
  when: When,
  habits: readonly RuleHabit[] = [],
): Explained<MapChecksum> | null {
  const left = usable.slice();
  for (const counter of counters) claim(left, counter as Placement);
  const counting = less(usable, left);
  const frame: Frame = {
    rows,
    counters,
    when,
    payloads: distinctPayloads(rows),
    left,
    counting,
    moved: movedMask(rows),
  };
  const alone = withCounterAlone(frame);
  if (alone) return alone;
  const runs = tagRuns(frame.payloads, left).filter((run) => liesLikeTag(ofRun(run), frame));
  const tags = [...runs].sort((a, b) => b.bytes - a.bytes).map(ofRun);
  for (const tag of [...tags, ...(counters.length > 0 ? nibblesOf(frame) : [])]) {
    const repeats = compareRepeats(rows, tagMask(tag, rows.bytes));
    const isSeldom = repeats.seen < (tag.length < 8 ? NIBBLES_SEEN_MIN : SEEN_MIN);
    const again = isSeldom ? sentAgain(tag, repeats, frame) : null;
    if (again) return again;
    const method = verdictOf(tag, repeats, frame);
    if (method) return claimOf(tag, method, when, sureOf(repeats.seen), whyOf(method, repeats, counters.length));
  }
  return lentTag(habits, runs, frame) ?? unseenTag(runs, frame);
}
