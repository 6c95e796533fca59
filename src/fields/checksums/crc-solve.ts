/**
 * CRCs of any polynomial. Over differences start and final value vanish, and the difference of two codewords is a
 * multiple of the generator polynomial. Up to 8 bits every generator is tried; wider ones come out as
 * the greatest common divisor of several differences (of k random multiples it is the generator itself with
 * probability 1 - 2^(1-k)). Bytes that follow the covered ones, such as a data identifier, multiply by x^8 each.
 */
import { crcCoverages, type Coverage } from './coverage.ts';
import { DIFFERENCES_MAX, rankWithin, type Evidence } from './evidence.ts';
import { tagValue, type TagPlace } from './places.ts';
import type { Leaning, Relations } from './relations.ts';

export interface CrcRule {
  readonly poly: number;
  readonly reflected: boolean;
  readonly covers: Coverage;
  /** Constant bytes between the covered ones and the end of the message. */
  readonly suffixBytes: number;
  /** Other generators that fit the capture as well; the first is taken. */
  readonly rivals: number;
}

const reverseByte = Uint8Array.from({ length: 256 }, (_, byte) => {
  let out = 0;
  for (let i = 0; i < 8; i++) if ((byte >> i) & 1) out |= 128 >> i;
  return out;
});

function reverseBits(value: number, width: number): number {
  let out = 0;
  for (let i = 0; i < width; i++) if (Math.floor(value / 2 ** i) % 2) out += 2 ** (width - 1 - i);
  return out;
}

/** The message bytes of a difference, tag bits cleared, in the direction the register takes them. */
function message(difference: Uint8Array, covers: Coverage, place: TagPlace, reflected: boolean): number[] {
  return covers.map((byte) => {
    const value = (difference[byte] as number) & ~(place.mask[byte] as number);
    return reflected ? (reverseByte[value] as number) : value;
  });
}

const tagOf = (difference: Uint8Array, place: TagPlace, reflected: boolean): number =>
  reflected ? reverseBits(tagValue(place, difference), place.length) : tagValue(place, difference);

interface Codeword {
  readonly message: readonly number[];
  readonly tag: number;
}

/** Tables of all narrow generators, made when first needed: 256 remainders each. */
const narrowTables = new Map<number, Uint8Array>();
function narrowTable(width: number, poly: number): Uint8Array {
  const key = width * 256 + poly;
  let table = narrowTables.get(key);
  if (!table) {
    table = new Uint8Array(256);
    const aligned = (poly << (8 - width)) & 0xff;
    for (let byte = 0; byte < 256; byte++) {
      let register = byte;
      for (let i = 0; i < 8; i++)
        register = register & 0x80 ? ((register << 1) & 0xff) ^ aligned : (register << 1) & 0xff;
      table[byte] = register;
    }
    narrowTables.set(key, table);
  }
  return table;
}

function narrowHolds(width: number, poly: number, suffixBytes: number, word: Codeword): boolean {
  const table = narrowTable(width, poly);
  let register = 0;
  for (const byte of word.message) register = table[register ^ byte] as number;
  for (let i = 0; i < suffixBytes; i++) register = table[register] as number;
  return register >> (8 - width) === word.tag;
}

/** Generators that trade publications use: preferred where a capture leaves a choice. */
const USUAL: Readonly<Record<number, readonly number[]>> = {
  4: [0x3],
  8: [0x1d, 0x2f, 0x07, 0x31, 0x9b, 0xd5],
  16: [0x1021, 0x8005, 0x3d65, 0xc867],
  32: [0x04c11db7, 0xf4acfb13, 0x1edc6f41],
};

function narrowGenerators(width: number): number[] {
  const usual = USUAL[width] ?? [];
  const rest: number[] = [];
  for (let poly = 1; poly < 1 << width; poly += 2) if (!usual.includes(poly)) rest.push(poly);
  return [...usual, ...rest];
}

function solveNarrow(
  width: number,
  suffixBytes: number,
  words: readonly Codeword[],
): { poly: number; rivals: number } | null {
  let first: number | null = null;
  let rivals = 0;
  for (const poly of narrowGenerators(width)) {
    if (!words.every((word) => narrowHolds(width, poly, suffixBytes, word))) continue;
    if (first === null) first = poly;
    else rivals++;
  }
  return first === null ? null : { poly: first, rivals };
}

const degree = (polynomial: bigint): number => (polynomial === 0n ? -1 : polynomial.toString(2).length - 1);

function polynomialRemainder(dividend: bigint, divisor: bigint): bigint {
  const by = degree(divisor);
  let rest = dividend;
  for (let at = degree(rest); at >= by; at = degree(rest)) rest ^= divisor << BigInt(at - by);
  return rest;
}

function commonDivisor(a: bigint, b: bigint): bigint {
  let [x, y] = [a, b];
  while (y !== 0n) [x, y] = [y, polynomialRemainder(x, y)];
  return x;
}

function codewordPolynomial(word: Codeword, width: number, suffixBytes: number): bigint {
  let polynomial = 0n;
  for (const byte of word.message) polynomial = (polynomial << 8n) | BigInt(byte);
  return (polynomial << BigInt(8 * suffixBytes + width)) ^ BigInt(word.tag);
}

/** Divides out factors of x: a generator always has the term 1. */
function withoutX(polynomial: bigint): bigint {
  let rest = polynomial;
  while (rest !== 0n && (rest & 1n) === 0n) rest >>= 1n;
  return rest;
}

function solveWide(
  width: number,
  suffixBytes: number,
  words: readonly Codeword[],
): { poly: number; rivals: number } | null {
  let common = 0n;
  for (const word of words) {
    common = commonDivisor(common, codewordPolynomial(word, width, suffixBytes));
    if (common !== 0n && degree(common) < width) return null;
  }
  common = withoutX(common);
  if (degree(common) < width) return null;
  const top = 1n << BigInt(width);
  if (degree(common) === width) return { poly: Number(common ^ top), rivals: 0 };
  const usual = (USUAL[width] ?? []).filter((poly) => polynomialRemainder(common, BigInt(poly) | top) === 0n);
  return usual.length > 0 ? { poly: usual[0] as number, rivals: degree(common) - width } : null;
}

const SUFFIX_BYTES_MAX = 2;
/** Bits of agreement beyond the number of rules tried, in powers of two, before a rule is believed. */
export const SURPLUS_BITS = 18;

const triedBits = (width: number, coverages: number): number =>
  Math.log2(coverages * 2 * (SUFFIX_BYTES_MAX + 1)) + Math.min(width, 16);

/** Independent differences of the covered bytes and the tag: each tests a rule anew. */
export function rankOf(place: TagPlace, covers: Coverage, evidence: Evidence): number {
  const mask = place.mask.slice();
  for (const byte of covers) mask[byte] = 0xff;
  return rankWithin(evidence.differences, mask);
}

/** The CRC that holds at a place: what all differences say, or one half of them where a broken payload spoils the other. */
export function findCrc(place: TagPlace, evidence: Evidence): CrcRule | null {
  const allowing = evidence.relations.filter((relations) => relations.allow(place));
  if (allowing.length === 0) return null;
  const leaning = (relations: Relations | undefined): Leaning | null => relations?.leaning(place) ?? null;
  if (allowing.length > 1) {
    const found = findOver(place, evidence, crcCoverages(evidence, place, leaning(allowing[0])));
    if (found) return found;
  }
  for (const relations of [...allowing].reverse()) {
    const differences = relations.differences.slice(0, DIFFERENCES_MAX);
    const own = { ...evidence, differences };
    const found = findOver(place, own, crcCoverages(own, place, leaning(relations)));
    if (found) return found;
  }
  return null;
}

interface Solution {
  readonly poly: number;
  readonly rivals: number;
  readonly reflected: boolean;
  readonly suffixBytes: number;
}

/** All that hold over one coverage, plain before reflected, no constant bytes behind before some. */
function* solutionsOver(place: TagPlace, covers: Coverage, { differences }: Evidence): Generator<Solution> {
  const width = place.length;
  for (const reflected of [false, true]) {
    const words = differences.map((d) => ({
      message: message(d, covers, place, reflected),
      tag: tagOf(d, place, reflected),
    }));
    if (words.every((word) => word.tag === 0)) continue;
    for (let suffixBytes = 0; suffixBytes <= SUFFIX_BYTES_MAX; suffixBytes++) {
      const solved = width <= 8 ? solveNarrow(width, suffixBytes, words) : solveWide(width, suffixBytes, words);
      if (solved) yield { ...solved, reflected, suffixBytes };
    }
  }
}

export const isUsual = (width: number, poly: number): boolean => USUAL[width]?.includes(poly) === true;

/** Widest coverage first; of several rules over it one with a usual generator, the others as its rivals. */
function findOver(place: TagPlace, evidence: Evidence, coverages: readonly Coverage[]): CrcRule | null {
  const width = place.length;
  for (const covers of coverages) {
    if (width * rankOf(place, covers, evidence) < triedBits(width, coverages.length) + SURPLUS_BITS) continue;
    const all = [...solutionsOver(place, covers, evidence)];
    const best = all.find(({ poly }) => isUsual(width, poly)) ?? all[0];
    if (!best) continue;
    const rivals = all.reduce((count, each) => count + 1 + each.rivals, -1);
    return { ...best, rivals, covers };
  }
  return null;
}
