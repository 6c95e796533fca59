/** Where a checksum may lie: whole bytes, nibbles, two or four bytes in either order, and two without their highest bit where that stands still. */
import type { Piece } from '../../frames/bits.ts';
import { bitPositions } from '../../frames/bits.ts';
import { BITS_SET } from '../bits-set.ts';
import { maskOf } from '../mask.ts';
import type { Evidence } from './evidence.ts';

export interface TagPlace extends Piece {
  /** [bytes] mask of the tag's bits. */
  readonly mask: Uint8Array;
  /** Bit positions, least significant first. */
  readonly positions: readonly number[];
  /** Share of payload changes in which the tag changed too. */
  readonly restless: number;
  /** Mean number of tag bits that change with the payload. */
  readonly flips: number;
  /** Whether it lies on bits that step like a counter, and whether such bits share or adjoin its bytes. */
  readonly onCounter: boolean;
  readonly besideCounter: boolean;
}

export function makePlace(piece: Piece, evidence: Evidence, counting: Uint8Array): TagPlace {
  const positions = bitPositions(piece);
  const mask = maskOf(evidence.bytes, positions);
  const held = [...new Set(positions.map((position) => position >> 3))];
  let changed = 0;
  let flips = 0;
  for (const [a, b] of evidence.pairs) {
    const [first, second] = [evidence.payloads[a] as Uint8Array, evidence.payloads[b] as Uint8Array];
    const differing = countDiffering(mask, held, first, second);
    flips += differing;
    if (differing > 0) changed++;
  }
  const all = Math.max(1, evidence.pairs.length);
  const onCounter = mask.some((bits, byte) => (bits & (counting[byte] as number)) !== 0);
  const besideCounter = mask.some(
    (bits, byte) => bits !== 0 && [byte - 1, byte, byte + 1].some((near) => (counting[near] ?? 0) !== 0),
  );
  return { ...piece, mask, positions, restless: changed / all, flips: flips / all, onCounter, besideCounter };
}

function countDiffering(mask: Uint8Array, held: readonly number[], a: Uint8Array, b: Uint8Array): number {
  let bits = 0;
  for (const byte of held) bits += BITS_SET[((a[byte] as number) ^ (b[byte] as number)) & (mask[byte] as number)]!;
  return bits;
}

/** All bits of a byte move but the highest. */
const STILL_TOP = 0x7f;

function* pieces(bytes: number, moved: Uint8Array): Generator<Piece> {
  for (let byte = bytes - 1; byte >= 0; byte--) {
    yield { lsb: { byte, bit: 0 }, length: 8, order: 'little' };
    yield { lsb: { byte, bit: 0 }, length: 4, order: 'little' };
    yield { lsb: { byte, bit: 4 }, length: 4, order: 'little' };
    for (const size of [2, 4]) {
      if (byte + size <= bytes) yield { lsb: { byte, bit: 0 }, length: size * 8, order: 'little' };
      if (byte - size + 1 >= 0) yield { lsb: { byte, bit: 0 }, length: size * 8, order: 'big' };
    }
    for (const [order, high] of [
      ['little', byte + 1],
      ['big', byte - 1],
    ] as const)
      if (high >= 0 && high < bytes && moved[high] === STILL_TOP) yield { lsb: { byte, bit: 0 }, length: 15, order };
  }
}

/** Least share of payload changes in which a tag changes; a copy changes as seldom as what it shows. */
export const RESTLESS_MIN = 0.3;

/**
 * Bits for a place being the tag of a sum that comes out to a constant, which any of its bytes could be: it lies at an
 * edge of the guarded part (common practice, no source), takes part in every change, is spread as widely as any, and is no counter.
 */
function likelihood(place: TagPlace, bytes: number, most: number, spread: Float64Array): number {
  const atEdge = place.mask[0] !== 0 || place.mask[bytes - 1] !== 0;
  return (atEdge ? EDGE_BITS : 0) + liveliness(place, most, spread);
}

/** The same but for the edge. most: flips of the liveliest byte. */
function liveliness(place: TagPlace, most: number, spread: Float64Array): number {
  const moving = FLIP_WEIGHT * Math.log2(Math.max(place.flips, 1e-3) / most);
  const lacking = place.length === 8 ? Math.max(...spread) - (spread[place.lsb.byte] as number) : 0;
  return moving - SPREAD_WEIGHT * lacking + (place.onCounter ? -COUNTER_BITS : place.besideCounter ? BESIDE_BITS : 0);
}

/** Bits for each of some places being the tag, by how it moves and by the counter beside it alone; comparable among places of one length. */
export function livelinessOf(places: readonly TagPlace[], evidence: Evidence): number[] {
  const most = Math.max(1e-3, ...places.map(({ flips }) => flips));
  const spread = spreadOf(evidence);
  return places.map((place) => liveliness(place, most, spread));
}
const EDGE_BITS = 4.5;
const FLIP_WEIGHT = 3;
/** Bits for each bit of entropy by which a byte falls short of the most spread one. */
const SPREAD_WEIGHT = 1;
const COUNTER_BITS = 3;
/** Nine of ten tags adjoin the counter, and two of seven other bytes (common practice, no source): odds of 22 to 1. */
const BESIDE_BITS = 4.5;

/** Widest first, because part of a sum or exclusive or is one too; then the likelier. */
const byLikelihood =
  (bytes: number, most: number, spread: Float64Array) =>
  (a: TagPlace, b: TagPlace): number =>
    b.length - a.length || likelihood(b, bytes, most, spread) - likelihood(a, bytes, most, spread);

/**
 * [bytes] entropy of each, in bits. A sum of independent values is at least as spread as any one of them (entropy of a sum; Cover & Thomas,
 * Elements of Information Theory, exercises of chapter 2, from memory): what takes few values, such as a page's number, is hardly one.
 */
function spreadOf({ bytes, payloads }: Evidence): Float64Array {
  const times = new Uint32Array(256);
  return Float64Array.from({ length: bytes }, (_, byte) => {
    times.fill(0);
    for (const payload of payloads) times[payload[byte] as number]!++;
    let bits = 0;
    for (const each of times) if (each > 0) bits -= (each / payloads.length) * Math.log2(each / payloads.length);
    return bits;
  });
}

/** Places whose bits are usable and move often enough to be a checksum, likeliest first. counting: [bytes] mask of counters. */
export function tagPlaces(
  evidence: Evidence,
  usable: Uint8Array,
  counting: Uint8Array,
  restlessMin = RESTLESS_MIN,
): TagPlace[] {
  const found: TagPlace[] = [];
  for (const piece of pieces(evidence.bytes, evidence.moved)) {
    const place = makePlace(piece, evidence, counting);
    const movedBits = place.positions.filter((at) => ((evidence.moved[at >> 3] as number) >> (at & 7)) & 1).length;
    const isUsable = place.positions.every((at) => ((usable[at >> 3] as number) >> (at & 7)) & 1);
    const wide = piece.length / 8;
    const everyByteMoves =
      wide <= 1 || place.mask.every((mask, byte) => mask === 0 || (evidence.moved[byte] as number) !== 0);
    if (isUsable && everyByteMoves && movedBits >= Math.min(3, piece.length / 2) && place.restless >= restlessMin)
      found.push(place);
  }
  const most = found.reduce((flips, place) => (place.length === 8 ? Math.max(flips, place.flips) : flips), 0);
  return found.sort(byLikelihood(evidence.bytes, most, spreadOf(evidence)));
}

/** Share of pairs in which a copy must be one: a value written twice may be read in the middle of a change. */
const COPY_SHARE = 0.98;

interface Part {
  readonly byte: number;
  readonly bit: number;
  readonly length: number;
}

function* otherParts({ byte, bit, length }: Part, mask: Uint8Array): Generator<Part> {
  const isOutside = (part: Part): boolean =>
    (((mask[part.byte] as number) >> part.bit) & ((1 << part.length) - 1)) === 0;
  for (let other = 0; other < mask.length; other++) {
    const nibbles = [0, 4].map((shift) => ({ byte: other, bit: shift, length: 4 }));
    const parts = length > 4 ? [{ byte: other, bit: 0, length: 8 }, ...nibbles] : nibbles;
    for (const part of parts) if (isOutside(part) && (other !== byte || part.bit !== bit)) yield part;
  }
}

/** Whether part of a place shows always the moves of another byte or nibble. */
function isPartCopied(part: Part, mask: Uint8Array, { pairs, payloads }: Evidence): boolean {
  const most = (1 - COPY_SHARE) * pairs.length;
  const movesOf = (a: Uint8Array, b: Uint8Array, { byte, bit, length }: Part): number =>
    (((a[byte] as number) ^ (b[byte] as number)) >> bit) & ((1 << length) - 1);
  for (const other of otherParts(part, mask)) {
    let failed = 0;
    for (const [a, b] of pairs) {
      const [first, second] = [payloads[a] as Uint8Array, payloads[b] as Uint8Array];
      if (movesOf(first, second, part) !== movesOf(first, second, other) && ++failed > most) break;
    }
    if (failed <= most) return true;
  }
  return false;
}

/** Whether each byte of a place, or its nibble, is another one as it stands or complemented: a copy, no sum or CRC. */
export function isCopy(place: TagPlace, evidence: Evidence): boolean {
  const { byte, bit } = place.lsb;
  if (place.length < 8) return isPartCopied({ byte, bit, length: place.length }, place.mask, evidence);
  return [...place.mask.keys()]
    .filter((each) => place.mask[each] !== 0)
    .every((each) => isPartCopied({ byte: each, bit: 0, length: 8 }, place.mask, evidence));
}

/** The tag's value in a payload; up to 32 bits. */
export function tagValue(place: TagPlace, payload: Uint8Array): number {
  let value = 0;
  for (let i = place.positions.length - 1; i >= 0; i--) {
    const at = place.positions[i] as number;
    value = value * 2 + (((payload[at >> 3] as number) >> (at & 7)) & 1);
  }
  return value;
}
