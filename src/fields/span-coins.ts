/**
 * Bits that turn like tossed coins, and whether the bits above them belong to the same number. The noisy low bits of a number look like
 * coins, and so does ciphertext below another value. A number carries: where its upper bits go up, the bits below fall from high to low.
 * That is put to the test by the likelihood ratio of a carrying number to independent bits, which exceeds 2^b by chance in
 * less than one of 2^b trials (Markov's inequality), and must be the larger the more coins the number would own.
 */
import { nextBit, type ByteOrder } from '../frames/bits.ts';
import { symbolCost } from './code-length.ts';
import { hasBit } from './mask.ts';
import { countFlips, type PayloadRows } from './payload-rows.ts';

/** How far from one half the share of turns may lie: a share of it, and standard deviations of a coin. */
const OFF_SHARE = 0.05;
const OFF_DEVIATIONS = 3;
/** With fewer pairs of rows the deviations would let any bit pass for a coin. */
const PAIRS_MIN = 32;

/** [bytes] mask of the bits that turn in half of the rows. */
export function coinsOf(rows: PayloadRows): Uint8Array {
  const pairs = rows.joined.reduce((sum, each) => sum + each, 0);
  const deviations = pairs < PAIRS_MIN ? 0 : OFF_DEVIATIONS * Math.sqrt(pairs / 4);
  const most = Math.max(OFF_SHARE * pairs, deviations);
  const coins = new Uint8Array(rows.bytes);
  countFlips(rows).forEach((times, at) => {
    if (pairs > 0 && Math.abs(times - pairs / 2) < most) coins[at >> 3]! |= 1 << (at & 7);
  });
  return coins;
}

/** How many coins lie in a row from a bit (byte * 8 + bit) upward (1) or downward, wherever a span would end. */
export function coinsFrom(coins: Uint8Array, free: Uint8Array, from: number, way: 1 | -1, order: ByteOrder): number {
  let count = 0;
  for (let at = from; at >= 0 && hasBit(coins, at) && hasBit(free, at); at = nextBit(at, way, order)) count++;
  return count;
}

/** So many noisy low bits are common; each further one makes it likelier by this many bits that they are no part of the number. */
export const COMMON_COINS = 6;
const DOUBT_BITS = 3;
const COINS_MAX = 10;

/** Bits of evidence that a number must give before it may own so many coins. */
export const doubtOf = (coins: number): number => DOUBT_BITS * (Math.min(coins, COINS_MAX) - COMMON_COINS);

/**
 * Of a number whose bits above the coins step by one, each step gives some third of a bit where they step by carries and takes a tenth
 * where they do not (computed for uniform low bits); half way between is asked for, of no fewer steps than tell the two apart.
 */
const BITS_A_STEP = 0.15;
const STEPS_MIN = 8;
/** Bits that often step by more than one go too fast for their carries to be told. */
const LEAPS_SHARE = 0.25;

/** Bits of evidence that a number must give whose bits `from` and up, `length` of them, step by one above coins; none where they do not. */
export function owedBySteps(word: Uint32Array, joined: Uint8Array, from: number, length: number): number | undefined {
  const unused = 32 - length;
  let pairs = 0;
  let steps = 0;
  let leaps = 0;
  for (let row = 1; row < word.length; row++) {
    if (joined[row] === 0) continue;
    const step = ((((word[row] as number) >>> from) - ((word[row - 1] as number) >>> from)) << unused) >> unused;
    pairs++;
    if (step !== 0) steps++;
    if (Math.abs(step) > 1) leaps++;
  }
  const isTold = steps >= STEPS_MIN && steps < pairs / 2 && leaps <= LEAPS_SHARE * steps;
  return isTold ? BITS_A_STEP * steps : undefined;
}

/** Coins below the upper bits that are read for a carry. */
const READ_BITS = 8;
/** How strongly a number's low bits are taken to follow a carry; 1 would let one row speak against all others. */
const CARRYING = 0.9;
/** One of three ways to foretell the next value is chosen. */
const CHOICE_BITS = Math.log2(3);
/** How far the low bits come from where they would have led on, in as many classes over their range. */
const CLASSES = 8;
const misses = new Int32Array(CLASSES);

/**
 * Bits of evidence that the bits `from` and up, `length` of them, step by the carries of the coins directly below; negative where
 * they step on their own. A number stays where it is but for its noise, or goes on as it last went; and low bits that go on so are no coins. word, joined: [rows].
 */
export function carryEvidence(
  word: Uint32Array,
  joined: Uint8Array,
  from: number,
  length: number,
  coins: number,
): number {
  const read = Math.min(READ_BITS, coins, from);
  const values = 2 ** read;
  const unused = 32 - length;
  const lowOf = (row: number): number => ((((word[row] as number) >>> (from - read)) & (values - 1)) + 0.5) / values;
  misses.fill(0);
  let told = 0;
  let staying = 0;
  let going = 0;
  let lastStep = NaN;
  for (let row = 1; row < word.length; row++) {
    if (joined[row] === 0) {
      lastStep = NaN;
      continue;
    }
    const step = ((((word[row] as number) >>> from) - ((word[row - 1] as number) >>> from)) << unused) >> unused;
    const [before, after] = [lowOf(row - 1), lowOf(row)];
    if (step !== 0) staying += Math.log2(1 + CARRYING * Math.sign(step) * (before - after));
    const foretold = before + lastStep - step;
    if (foretold < 0) going += Math.log2(1 + CARRYING * (1 - 2 * after));
    else if (foretold >= 1) going += Math.log2(1 + CARRYING * (2 * after - 1));
    if (!Number.isNaN(foretold)) {
      const miss = after - foretold;
      misses[Math.floor(CLASSES * (miss - Math.floor(miss))) % CLASSES]!++;
      told++;
    }
    lastStep = step + after - before;
  }
  const goingOn = told * Math.log2(CLASSES) - symbolCost(misses, 0, CLASSES, CLASSES);
  return Math.max(staying, going, read < 3 ? 0 : goingOn) - CHOICE_BITS;
}
