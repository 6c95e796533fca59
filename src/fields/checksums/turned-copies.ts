/**
 * Values that stand in a frame once more with every bit turned over, of any length and place, within what a tag guards or beside it (redundancy by inversion; common practice,
 * no source). So many bits in a row that are opposite throughout, and of which so many move apart, are so by no chance. Which of the two is the copy no capture
 * shows: it is said to be the one behind.
 */
import { bitPositions, nextBit, type ByteOrder, type Piece, type Placement } from '../../frames/bits.ts';
import type { MapChecksum, MapCounter, When } from '../../map/schema.ts';
import { bitsSet } from '../bits-set.ts';
import { either, hasBit, leftBy, maskOf } from '../mask.ts';
import type { PayloadRows } from '../payload-rows.ts';
import type { Explained } from '../types.ts';
import { distinctPayloads, gatherEvidence, rankWithin, type Evidence } from './evidence.ts';
import { finish } from './judge.ts';
import { makePlace } from './places.ts';

/** Bits of a copy at least; a flag beside its opposite, or two, are states rather. */
const BITS_MIN = 5;
const BITS_MAX = 32;
/** Payloads independent of each other within the copy: fewer move any bits together. */
const RANK_MIN = 4;
/** Share of payloads that must be so. */
const HOLDS_MIN = 0.98;

/** [bits of the payload] how often each is set, and which are set in which payload, 32 payloads a word. */
function columnsOf({ payloads, bytes }: Evidence): Uint32Array[] {
  const columns = Array.from({ length: bytes * 8 }, () => new Uint32Array(Math.ceil(payloads.length / 32)));
  payloads.forEach((payload, index) => {
    for (let at = 0; at < columns.length; at++)
      if ((payload[at >> 3]! >> (at & 7)) & 1) columns[at]![index >> 5]! |= 1 << (index & 31);
  });
  return columns;
}

/** Whether two bits are opposite in nearly all payloads. */
function areOpposite(a: Uint32Array, b: Uint32Array, payloads: number): boolean {
  let same = payloads;
  const most = (1 - HOLDS_MIN) * payloads;
  for (let word = 0; word < a.length; word++) same -= bitsSet(a[word]! ^ b[word]!);
  return same <= most;
}

interface Copy {
  readonly piece: Piece;
  /** Bits of the value, least significant first. */
  readonly source: readonly number[];
}

/** The longest run of opposite bits from two that move upward; ends with a bit that moves. */
function runFrom(
  from: readonly [number, number],
  order: ByteOrder,
  { moved, bytes }: Evidence,
  isOpposite: (a: number, b: number) => boolean,
  open: Uint8Array,
): Copy | null {
  let [value, copy] = from;
  const [source, bits]: [number[], number[]] = [[], []];
  const isWithin = (at: number): boolean => at >= 0 && at < bytes * 8 && hasBit(open, at);
  while (isWithin(value) && isWithin(copy) && isOpposite(value, copy) && bits.length < BITS_MAX) {
    if (source.includes(copy) || bits.includes(value)) break;
    source.push(value);
    bits.push(copy);
    value = nextBit(value, 1, order);
    copy = nextBit(copy, 1, order);
  }
  const length = bits.findLastIndex((at) => hasBit(moved, at)) + 1;
  if (length < BITS_MIN) return null;
  const lsb = { byte: from[1] >> 3, bit: from[1] & 7 };
  const isOneByte = bits[length - 1]! >> 3 === lsb.byte;
  return { piece: { lsb, length, order: isOneByte ? 'little' : order }, source: source.slice(0, length) };
}

/** Each byte of the value with its bits, the most significant first. */
function coversOf(source: readonly number[]): NonNullable<MapChecksum['covers']> {
  const covers: { byte: number; mask: number }[] = [];
  for (const at of [...source].reverse()) {
    const last = covers.at(-1);
    if (last && last.byte === at >> 3) last.mask |= 1 << (at & 7);
    else covers.push({ byte: at >> 3, mask: 1 << (at & 7) });
  }
  return covers.map(({ byte, mask }) => (mask === 0xff ? byte : { byte, mask }));
}

function copiesIn(evidence: Evidence, open: Uint8Array): Copy[] {
  const { bytes, moved, payloads } = evidence;
  const columns = columnsOf(evidence);
  const isOpposite = (a: number, b: number): boolean => areOpposite(columns[a]!, columns[b]!, payloads.length);
  const moving = Array.from({ length: bytes * 8 }, (_, at) => at).filter((at) => hasBit(moved, at) && hasBit(open, at));
  const found: Copy[] = [];
  for (const value of moving)
    for (const copy of moving.filter((at) => at >> 3 > value >> 3 && isOpposite(value, at)))
      for (const order of ['little', 'big'] as const) {
        const run = runFrom([value, copy], order, evidence, isOpposite, open);
        if (run) found.push(run);
      }
  return found.sort((a, b) => b.piece.length - a.piece.length);
}

/** Where one byte alone moves beside another, a complemented sum over all looks the same. */
const maySum = ({ moved }: Evidence, { piece, source }: Copy): boolean =>
  piece.length <= 8 && source[0]! >> 3 === source.at(-1)! >> 3 && moved.filter((bits) => bits !== 0).length <= 2;

/** usable: [bytes] bits that neither counters nor tags hold. */
export function turnedCopies(
  rows: PayloadRows,
  usable: Uint8Array,
  counters: readonly MapCounter[],
  when: When,
): Explained<MapChecksum>[] {
  const evidence = gatherEvidence(rows.bytes, distinctPayloads(rows), null);
  const found: Explained<MapChecksum>[] = [];
  let open = usable;
  for (const copy of copiesIn(evidence, usable)) {
    const { piece, source } = copy;
    const place = makePlace(piece, evidence, new Uint8Array(rows.bytes));
    const isOpen = [...place.positions, ...source].every((at) => hasBit(open, at));
    if (!isOpen || maySum(evidence, copy) || rankWithin(evidence.differences, place.mask) < RANK_MIN) continue;
    const ones = `0x${(2 ** piece.length - 1).toString(16).toUpperCase()}`;
    const parameters = { method: 'copy' as const, width: piece.length, xorout: ones, covers: coversOf(source) };
    const finished = finish({ place, parameters, rivals: 0 }, evidence, rows, { counters, when });
    if (!finished) continue;
    found.push(finished.checksum);
    open = leftBy(open, [piece]);
  }
  return found;
}

/** [bytes] bits of a copy and of the value that it shows. */
function bitsOf(copy: MapChecksum, bytes: number): Uint8Array {
  const mask = maskOf(bytes, bitPositions(copy as Placement));
  for (const each of copy.covers ?? []) {
    if (typeof each === 'number') mask[each] = 0xff;
    else mask[each.byte]! |= Number(each.mask);
  }
  return mask;
}

/** The same bits of two bytes: that may be the tag itself, in front of what it guards or behind, which is for others to say. */
function isByte(copy: MapChecksum, bytes: number): boolean {
  const held = bitsOf(copy, bytes).filter((bits) => bits !== 0);
  return held.length === 2 && held[0] === held[1];
}

/** [bytes] bits of copies and of the values that they show: no tags. */
export const bitsOfCopies = (copies: readonly MapChecksum[], bytes: number): Uint8Array =>
  copies
    .filter((copy) => !isByte(copy, bytes))
    .reduce<Uint8Array>((mask, copy) => either(mask, bitsOf(copy, bytes)), new Uint8Array(bytes));

/** Copies of which nothing else holds a bit, nor one of the value's. left: [bytes] bits that nothing holds. */
export const copiesWithin = <T extends MapChecksum>(copies: readonly T[], left: Uint8Array): T[] =>
  copies.filter((copy) => bitsOf(copy, left.length).every((bits, byte) => (bits & ~left[byte]!) === 0));
