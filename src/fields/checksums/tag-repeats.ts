/**
 * What comes again with a tag: the same content always with the same tag speaks for a rule, with another one each time for a key or a hidden
 * state. Content is whatever the frame holds beside the tag, counters with it.
 */
import type { Placement } from '../../frames/bits.ts';
import type { MapCounter } from '../../map/schema.ts';
import { changesOf, areNews } from '../changes.ts';
import { claim, leftBy } from '../mask.ts';
import type { PayloadRows } from '../payload-rows.ts';

export interface Repeats {
  /** Rows whose other bits had come before, with others in between. */
  readonly seen: number;
  /** Of those, rows with the same tag as then. */
  readonly same: number;
}

const REPEATS_MAX = 20_000;

/** Of a payload, the bits of a [bytes] mask. */
const under = (payload: Uint8Array, mask: Uint8Array): string =>
  String.fromCharCode(...payload.map((bits, byte) => bits & mask[byte]!));

const turned = (mask: Uint8Array): Uint8Array => mask.map((bits) => ~bits & 0xff);

/** tag: [bytes] mask of its bits. */
export function compareRepeats(rows: PayloadRows, tag: Uint8Array): Repeats {
  const tagOf = new Map<string, string>();
  const others = turned(tag);
  let [seen, same, last] = [0, 0, ''];
  for (let row = 0; row < Math.min(rows.count, REPEATS_MAX); row++) {
    const payload = rows.data.subarray(row * rows.bytes, (row + 1) * rows.bytes);
    const [own, rest] = [under(payload, tag), under(payload, others)];
    const before = tagOf.get(rest);
    if (before !== undefined && (rest !== last || before !== own)) {
      seen++;
      if (before === own) same++;
    }
    tagOf.set(rest, own);
    last = rest;
  }
  return { seen, same };
}

/**
 * Rows sent again just as they were, where the frame says nothing twice but that: its counter steps on a change alone. 0 where bits beside tag and counters
 * do not move with nearly every change: a noisy value that is held would look the same.
 */
export function countSentAgain(rows: PayloadRows, tag: Uint8Array, counters: readonly MapCounter[]): number {
  const { bytes, joined } = rows;
  const count = Math.min(rows.count, REPEATS_MAX);
  const changes = changesOf(
    { bytes, count, joined, data: rows.data.subarray(0, count * bytes) },
    new Uint8Array(bytes).fill(0xff),
  );
  return areNews(changes, leftBy(turned(tag), counters as readonly Placement[])) ? count - changes.count : 0;
}

/** Few repeats are enough where none brings the same back: so many, of a tag that chance hardly brings back. */
const SEEN_FEW = 3;
const CHANCE_BITS = 16;
/** Repeats of content without which nothing else is said: a share of one in four going the other way would show in ten with 0.94. */
export const SEEN_MIN = 10;

/** Whether so many tags came again as chance has it for one of `length` bits drawn anew each time. */
export function isDrawnAnew({ seen, same }: Repeats, length: number): boolean {
  const expected = seen / 2 ** length;
  return same <= expected + 4 * Math.sqrt(expected) + (seen < SEEN_MIN ? 0 : 2);
}

/** Whether the repeats are enough to call it keyed. */
export const isKeyed = (repeats: Repeats, length: number): boolean =>
  repeats.seen >= (length >= CHANCE_BITS ? SEEN_FEW : SEEN_MIN) && isDrawnAnew(repeats, length);

/** Share of contents under one counter value that bring another tag: all but those that chance makes alike, and one in ten. */
const OTHER_MIN = 0.9;

/** Whether the tag follows the content and not the counter alone: what does the latter may as well be a list of pages. */
export function followsContent(
  payloads: readonly Uint8Array[],
  tag: Uint8Array,
  length: number,
  counters: readonly MapCounter[],
): boolean {
  const free = turned(tag);
  for (const counter of counters) claim(free, counter as Placement);
  const counting = tag.map((bits, byte) => ~bits & ~free[byte]! & 0xff);
  const lastOf = new Map<string, Uint8Array>();
  let [pairs, other] = [0, 0];
  for (const payload of payloads) {
    const key = under(payload, counting);
    const before = lastOf.get(key);
    lastOf.set(key, payload);
    if (!before || under(before, free) === under(payload, free)) continue;
    pairs++;
    if (under(before, tag) !== under(payload, tag)) other++;
  }
  return pairs >= SEEN_MIN && other >= OTHER_MIN * (1 - 2 ** -length) * pairs;
}
