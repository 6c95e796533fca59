/**
 * Values that are not plain two's complement, turned into it before they are priced: a sign beside a magnitude, and decimal digits in groups
 * of four bits (packed BCD). A reading is tried only where the bits obey it: a sign turns where the magnitude is near zero; no digit exceeds nine.
 */

/** Bits to say that a value is read in this way. */
export const READING_BITS = 4;

const SIGN_TURNS_MIN = 3;
/** A value that goes fast is past zero by more than that before it is seen again; of bits that know nothing of each other far fewer turn so. */
const NEAR_SHARE = 0.5;

/** The two highest bits below `top` that differ between any two words. */
function highestMoving(word: Uint32Array, top: number): number {
  let moved = 0;
  for (let row = 1; row < word.length; row++) moved |= (word[row] as number) ^ (word[0] as number);
  moved &= 2 ** top - 1;
  let highest = 0;
  for (let taken = 0; taken < 2 && moved !== 0; taken++) {
    const bit = 1 << (31 - Math.clz32(moved));
    highest |= bit;
    moved &= ~bit;
  }
  return highest;
}

/** Whether the top bit (number `top` of the words) mostly turns where the two highest bits below it that ever move are zero, before and after. */
export function turnsNearZero(word: Uint32Array, joined: Uint8Array, top: number): boolean {
  const highest = highestMoving(word, top);
  if (highest === 0) return false;
  let turns = 0;
  let near = 0;
  for (let row = 1; row < word.length; row++) {
    const [before, value] = [word[row - 1] as number, word[row] as number];
    if (joined[row] === 0 || (((before ^ value) >>> top) & 1) === 0) continue;
    turns++;
    if (((before | value) & highest) === 0) near++;
  }
  return turns >= SIGN_TURNS_MIN && near >= NEAR_SHARE * turns;
}

const scratch = { words: new Uint32Array(0) };
function scratchFor(count: number): Uint32Array {
  if (scratch.words.length < count) scratch.words = new Uint32Array(2 * count);
  return scratch.words.subarray(0, count);
}

/**
 * The words with the span turned from sign and magnitude to two's complement, the rest zero; zero with a sign becomes -1, -1 becomes -2,
 * so that nothing is lost. Valid until the next call.
 */
export function fromMagnitude(word: Uint32Array, shift: number, length: number): Uint32Array {
  const out = scratchFor(word.length);
  const mask = length === 32 ? -1 : (1 << length) - 1;
  const sign = 1 << (length - 1);
  const magnitude = mask & ~sign;
  for (let row = 0; row < word.length; row++) {
    const value = ((word[row] as number) >>> shift) & mask;
    out[row] = (((value & sign) !== 0 ? value ^ magnitude : value) << shift) >>> 0;
  }
  return out;
}

const DIGIT_VALUES_MIN = 9;

/** Groups of four bits from `low` on that never exceed nine; 0 unless the lowest takes nearly all digits. */
export function digitGroups(word: Uint32Array, low: number, bits: number): number {
  const groups = Math.ceil((bits - low) / 4);
  let lowest = 0;
  let valid = groups;
  for (let row = 0; row < word.length; row++) {
    const value = (word[row] as number) >>> low;
    if ((value & 15) > 9) return 0;
    lowest |= 1 << (value & 15);
    for (let group = 1; group < valid; group++) if (((value >>> (4 * group)) & 15) > 9) valid = group;
  }
  let digits = 0;
  for (; lowest; lowest &= lowest - 1) digits++;
  return digits >= DIGIT_VALUES_MIN ? valid : 0;
}

/** Bits of the decimal number that so many bits of digits hold. */
export const decimalBits = (length: number): number =>
  Math.ceil(Math.log2(10 ** Math.floor(length / 4) * Math.min(10, 2 ** (length % 4)) - 1e-9));

/** The words' digits as plain numbers, from bit 0. Valid until the next call. */
export function fromDigits(word: Uint32Array, shift: number, length: number): Uint32Array {
  const out = scratchFor(word.length);
  const mask = 2 ** length - 1;
  for (let row = 0; row < word.length; row++) {
    let number = 0;
    for (let rest = (((word[row] as number) >>> shift) & mask) >>> 0, unit = 1; rest > 0; rest >>>= 4, unit *= 10)
      number += (rest & 15) * unit;
    out[row] = number;
  }
  return out;
}
