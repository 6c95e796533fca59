/**
 * The tag of a frame in which hardly anything but its counter moves, as in a vehicle that stands. Each counter value then has its own tag, and any rule over
 * the counter explains it: the byte beside the counter, at an edge of the frame, that a sum over the counter's byte or a scramble of it fits is a tag
 * (common practice, no source), its rule cannot be told.
 */
import { bitPositions, type Placement } from '../../frames/bits.ts';
import type { MapCounter } from '../../map/schema.ts';
import { BITS_SET } from '../bits-set.ts';
import { maskOf } from '../mask.ts';

/** Counter values without which nothing is said. */
const VALUES_MIN = 8;

/** Of a scramble this many bits of the byte move, each of them in so large a share of the steps. */
const MOVED_MIN = 7;
const FLIPS_LEAST = 0.15;
const FLIPS_MOST = 0.85;

const isText = (values: readonly number[]): boolean => values.every((value) => value >= 0x20 && value < 0x7f);

/** Whether a byte's values, in the counter's order, look drawn: nearly all bits move, none seldom or always. */
function isScrambled(values: readonly number[]): boolean {
  let moved = 0;
  for (let bit = 0; bit < 8; bit++) {
    let flips = 0;
    for (let index = 1; index < values.length; index++)
      flips += (((values[index] as number) ^ (values[index - 1] as number)) >> bit) & 1;
    if (flips === 0) continue;
    moved++;
    const share = flips / (values.length - 1);
    if (share < FLIPS_LEAST || share > FLIPS_MOST) return false;
  }
  return moved >= MOVED_MIN && new Set(values).size > values.length / 2 && !isText(values);
}

/** Whether a byte is a sum over another: that and a constant, or what is missing to a constant, and not the other as it stands. */
function isSumOver(values: readonly number[], counting: readonly number[]): boolean {
  const constants = [1, -1].map(
    (sign) => new Set(values.map((value, index) => (value + sign * (counting[index] as number) + 256) & 0xff)),
  );
  const [missing, added] = constants as [Set<number>, Set<number>];
  const moved = counting.reduce((bits, value) => bits | (value ^ (counting[0] as number)), 0);
  return missing.size === 1 || (added.size === 1 && ([...added][0]! & moved) !== 0);
}

/** Distinct payloads with other content, as where a lamp was lit for a while: with so many the content shows in the tag. */
const OTHERS_MAX = 9;

/** Those payloads that are alike but for some bits, of which most are. varying: [bytes] mask of these bits. */
function mostAlike(payloads: readonly Uint8Array[], varying: Uint8Array): readonly Uint8Array[] {
  const alike = new Map<string, Uint8Array[]>();
  for (const payload of payloads) {
    const rest = payload.map((bits, byte) => bits & ~varying[byte]!).join();
    const own = alike.get(rest);
    if (own) own.push(payload);
    else alike.set(rest, [payload]);
  }
  return [...alike.values()].reduce((most, each) => (each.length > most.length ? each : most), []);
}

/** Whether a byte is a tag over the counter's byte `at`. payloads: distinct ones, in the order sent, in which nothing else moves. */
function isTagOver(payloads: readonly Uint8Array[], tag: number, at: number): boolean {
  const [tags, counting] = [tag, at].map((byte) => payloads.map((payload) => payload[byte] as number));
  const moved = tags!.reduce((bits, value) => bits | (value ^ tags![0]!), 0);
  return payloads.length >= VALUES_MIN && BITS_SET[moved]! >= 3 && (isScrambled(tags!) || isSumOver(tags!, counting!));
}

/** The byte that is such a tag, or null. payloads: distinct ones, in the order sent; usable: [bytes] bits that nothing else holds. */
export function tagOfCounter(
  payloads: readonly Uint8Array[],
  usable: Uint8Array,
  counters: readonly MapCounter[],
): number | null {
  const [counter] = counters;
  const bytes = usable.length;
  if (!counter || counter.max - counter.min + 1 < VALUES_MIN) return null;
  const own = maskOf(bytes, bitPositions(counter as Placement));
  const held = [...own.keys()].filter((byte) => own[byte] !== 0);
  const at = held[0] as number;
  if (held.length !== 1) return null;
  const found = [at - 1, at + 1].find((tag) => {
    if ((tag !== 0 && tag !== bytes - 1) || usable[tag] !== 0xff) return false;
    const varying = own.slice();
    varying[tag] = 0xff;
    const alike = mostAlike(payloads, varying);
    return payloads.length - alike.length <= OTHERS_MAX && isTagOver(alike, tag, at);
  });
  return found ?? null;
}
