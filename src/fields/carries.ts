/**
 * Joins spans between which a number carries. Where the course of a number is none that `span-cost.ts` foresees (it rests at its least, counts in
 * multiples, leaps), its parts may seem cheaper one by one. But two values side by side know nothing of each other, while of one number the
 * lower part falls whenever the upper goes up, and rises whenever it goes down. The likelihood ratio of the one to the other exceeds
 * 2^b by chance in less than one of 2^b trials (Markov's inequality), so its logarithm may be taken off the price
 * of both parts together.
 */
import { bitPositions, nextBit, type ByteOrder } from '../frames/bits.ts';
import type { PayloadRows } from './payload-rows.ts';
import { segment, type SegmentOptions } from './segment.ts';
import { pieceOf, type Candidate } from './span-candidate.ts';

type Bits = readonly number[];

/** How strongly the lower part is taken to follow a carry; 1 would let one row speak against all others. */
const CARRYING = 0.9;
/** Values of one make are not wholly strangers: bits that a carry must give before it is taken for one. */
const CARRY_BITS = 12;
/** A number found in several parts is joined two by two. */
const ROUNDS = 3;
const WORD_BITS = 32;
/** Bits with which a number may come round; a single one is but the lowest of a number's top that was seen to move. */
const TURNING_MIN = 2;

/** [rows] the bits, least significant first, as numbers. */
export function readBits({ bytes, data, count }: PayloadRows, bits: Bits): Uint32Array {
  const values = new Uint32Array(count);
  bits.forEach((at, place) => {
    for (let row = 0, byte = at >> 3; row < count; row++, byte += bytes)
      values[row]! |= (((data[byte] as number) >> (at & 7)) & 1) << place;
  });
  return values;
}

/** Bits of evidence that the upper part steps by the carries of the lower. */
export function carryBits(rows: PayloadRows, lower: Bits, upper: Bits): number {
  const [below, above] = [readBits(rows, lower), readBits(rows, upper)];
  const unused = WORD_BITS - Math.max(TURNING_MIN, upper.length);
  const range = 2 ** lower.length;
  let evidence = 0;
  for (let row = 1; row < rows.count; row++) {
    if (rows.joined[row] === 0) continue;
    const step = (((above[row] as number) - (above[row - 1] as number)) << unused) >> unused;
    if (step === 0) continue;
    const fallen = ((below[row - 1] as number) - (below[row] as number)) / range;
    evidence += Math.log2(1 + CARRYING * Math.sign(step) * fallen);
  }
  return evidence;
}

const keyOf = (bits: Bits): string => bits.join();

const touches = (lower: Bits, upper: Bits, order: ByteOrder): boolean =>
  nextBit(lower.at(-1) as number, 1, order) === upper[0];

/** The candidates, those cheaper that hold two neighbours of the cheapest division with a carry between them. */
export function withCarries(
  rows: PayloadRows,
  candidates: readonly Candidate[],
  options: SegmentOptions,
): readonly Candidate[] {
  const byPlace = new Map(candidates.map((each) => [keyOf(bitPositions(pieceOf(each))), each]));
  let priced = candidates;
  for (let round = 0; round < ROUNDS; round++) {
    const found = segment(rows.bytes, priced, { ...options, unjudged: true }).spans.map((span) => bitPositions(span));
    const cheaper = new Map<Candidate, Candidate>();
    for (const lower of found)
      for (const upper of found) {
        if (!touches(lower, upper, 'little') && !touches(lower, upper, 'big')) continue;
        const key = keyOf([...lower, ...upper]);
        const [whole, ...parts] = [key, keyOf(lower), keyOf(upper)].map((each) => byPlace.get(each));
        if (!whole || parts.includes(undefined)) continue;
        const evidence = carryBits(rows, lower, upper);
        if (evidence < CARRY_BITS) continue;
        const bits = parts.reduce((sum, part) => sum + (part as Candidate).cost.bits, 0) + CARRY_BITS - evidence;
        if (bits >= whole.cost.bits) continue;
        const joined = { ...whole, cost: { ...whole.cost, bits }, price: whole.price - whole.cost.bits + bits };
        cheaper.set(whole, joined);
        byPlace.set(key, joined);
      }
    if (cheaper.size === 0) break;
    priced = priced.map((each) => cheaper.get(each) ?? each);
  }
  return priced;
}
