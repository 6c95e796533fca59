/**
 * Spans read as binary floating-point numbers of 32 bits (IEEE 754-2019, binary32). As raw bits such a value leaps wherever its exponent or sign
 * turns, though what it says goes on smoothly. So it is priced by its course in units of its largest values' precision, and for
 * smaller ones by the further bits of precision that they carry. A payload's 32 bits are tried only where they read as sensible numbers throughout.
 */
import { bitPositions, type ByteOrder, type Piece } from '../frames/bits.ts';
import type { Company } from './company.ts';
import { hasBit } from './mask.ts';
import type { PayloadRows } from './payload-rows.ts';
import { READING_BITS } from './readings.ts';
import { spanCost, type SpanCost } from './span-cost.ts';
import type { Steps } from './steps.ts';

const BITS = 32;
const MANTISSA_BITS = 23;
const BIAS = 127;
/** Physical values lie between 2^-24 and 2^40 wherever they are not zero; nearer to zero they pass, but seldom. */
const EXPONENT_MIN = BIAS - 24;
const EXPONENT_MAX = BIAS + 40;
const TINY_SHARE = 0.02;
/** With fewer different values it might be anything. */
const VALUES_MIN = 10;
/** Width of the values in units of the largest ones' precision, sign included. */
const FIXED_BITS = 24;
/** All ones: "no data". */
const FILLING = 0xffffffff;

export interface FloatSpan {
  readonly piece: Piece;
  readonly cost: SpanCost;
}

const exponentOf = (word: number): number => (word >>> MANTISSA_BITS) & 0xff;
const isZero = (word: number): boolean => (word & 0x7fffffff) === 0;

/** The words of 32 bits at a place in every `stride`-th row. */
function wordsAt({ bytes, data, count }: PayloadRows, { lsb, order }: Piece, stride: number): Uint32Array {
  const words = new Uint32Array(Math.ceil(count / stride));
  const toward = order === 'little' ? 1 : -1;
  const { byte, bit } = lsb;
  for (let to = 0, at = byte; to < words.length; to++, at += bytes * stride) {
    let value = (data[at] as number) >>> bit;
    for (let i = 1; i < 4; i++) value |= (data[at + i * toward] as number) << (8 * i - bit);
    if (bit > 0) value |= (data[at + 4 * toward] as number) << (BITS - bit);
    words[to] = value;
  }
  return words;
}

/** Words of all ones at the start give way to the value that follows them. */
function withoutFilling(words: Uint32Array): Uint32Array {
  let filled = 0;
  while (filled < words.length && words[filled] === FILLING) filled++;
  return filled < words.length ? words.fill(words[filled] as number, 0, filled) : words;
}

/** Whether the words are sensible numbers. */
function areSensible(words: Uint32Array): boolean {
  let tiny = 0;
  for (const word of words) {
    if (isZero(word)) continue;
    const exponent = exponentOf(word);
    if (exponent === 0 || exponent > EXPONENT_MAX) return false;
    if (exponent < EXPONENT_MIN) tiny++;
  }
  return tiny <= 1 + TINY_SHARE * words.length;
}

const areMany = (words: Uint32Array): boolean => {
  const distinct = new Set<number>();
  return words.some((word) => distinct.add(word).size >= VALUES_MIN);
};

/** Bits to say that a value moved by less than a unit, and how small one is that is less than a unit. */
const HIDDEN_MOVE_BITS = 4;
const HIDDEN_EXPONENT_BITS = 4;

interface Course {
  /** [rows] in units of the largest values' precision, two's complement of `FIXED_BITS`. */
  readonly fixed: Uint32Array;
  /** Bits of precision beyond those units, of all values that the word moved to. */
  readonly furtherBits: number;
}

function courseOf(words: Uint32Array, joined: Uint8Array): Course {
  let highest = 0;
  let ever = 0;
  for (const word of words) {
    if (!isZero(word)) highest = Math.max(highest, exponentOf(word));
    ever |= word;
  }
  const stillBelow = Math.min(MANTISSA_BITS, 31 - Math.clz32(ever & -ever));
  const unit = 2 ** (highest - BIAS + 2 - FIXED_BITS);
  const asFloat = new Float32Array(words.buffer, words.byteOffset, words.length);
  const fixed = new Uint32Array(words.length);
  let furtherBits = 0;
  for (let row = 0; row < words.length; row++) {
    const word = words[row] as number;
    fixed[row] = Math.round((asFloat[row] as number) / unit) & (2 ** FIXED_BITS - 1);
    if (row === 0 || joined[row] === 0 || word === words[row - 1]) continue;
    if (fixed[row] === fixed[row - 1]) furtherBits += HIDDEN_MOVE_BITS;
    if (isZero(word)) continue;
    const told = FIXED_BITS - 2 - (highest - exponentOf(word));
    furtherBits += Math.max(0, MANTISSA_BITS - stillBelow - Math.max(0, told)) + (told < 1 ? HIDDEN_EXPONENT_BITS : 0);
  }
  return { fixed, furtherBits };
}

interface Beside {
  readonly rows: PayloadRows;
  readonly company: Company;
  readonly sudden: Uint8Array;
  /** [bytes] mask of the bits that turn in half of the rows. */
  readonly coins: Uint8Array;
}

function priceFloat({ rows, company, sudden }: Beside, piece: Piece, words: Uint32Array): SpanCost {
  const { joined } = rows;
  const { fixed, furtherBits } = courseOf(words, joined);
  const at = bitPositions(piece);
  const limit = piece.order === 'little' ? (at[0] as number) : ((at.at(-1) as number) >> 3) * 8;
  const cost = spanCost({ word: fixed, joined, sudden, shift: 0, length: FIXED_BITS, company, limit });
  return { ...cost, bits: cost.bits + furtherBits + READING_BITS, isFilled: false, isFloat: true };
}

const isWhole = (usable: Uint8Array, positions: readonly number[]): boolean =>
  positions.every((at) => at >= 0 && at < 8 * usable.length && hasBit(usable, at));

/** Rows looked at first. */
const FIRST_LOOK = 40;
/** Moving bits that such a value has at least: those below the leading one. */
const MOVING_MIN = 12;

/** Whether all that moves turns like coins, or all of the precision and the lowest exponent bit do: no number has such a course. */
const isTossed = (coins: Uint8Array, free: Uint8Array, positions: readonly number[]): boolean => {
  const isCoin = (at: number): boolean => hasBit(coins, at);
  return (
    positions.slice(0, MANTISSA_BITS + 1).every(isCoin) || positions.filter((at) => hasBit(free, at)).every(isCoin)
  );
};

/** Every place where 32 usable bits read as such a number, with its cost. free, usable: as for `priceSpans`. */
export function* floatSpans(beside: Beside, free: Uint8Array, usable: Uint8Array): Steps<FloatSpan[]> {
  const { rows, coins } = beside;
  const found: FloatSpan[] = [];
  for (const order of ['little', 'big'] as ByteOrder[])
    for (let at = 0; at < 8 * rows.bytes; at++) {
      const piece: Piece = { lsb: { byte: at >> 3, bit: at & 7 }, length: BITS, order };
      const positions = bitPositions(piece);
      if (!isWhole(usable, positions) || positions.filter((bit) => hasBit(free, bit)).length < MOVING_MIN) continue;
      if (isTossed(coins, free, positions)) continue;
      yield FIRST_LOOK;
      if (!areSensible(withoutFilling(wordsAt(rows, piece, Math.ceil(rows.count / FIRST_LOOK))))) continue;
      yield rows.count;
      const words = withoutFilling(wordsAt(rows, piece, 1));
      if (!areSensible(words) || !areMany(words)) continue;
      found.push({ piece, cost: priceFloat(beside, piece, words) });
    }
  return found;
}
