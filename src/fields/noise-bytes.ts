/**
 * Bytes that change like random bits, at least three side by side: ciphertext and noise, where nothing is claimed. Drawn bits flip in half of all cases and are
 * set in half, and so is the exclusive or of any two of a byte; that is a test of which chance fails a known share, and one that values do not pass: their upper
 * bits move seldom and together. What is drawn side by side for longer than the precision of a floating-point number is no number's.
 */
import { BITS_SET } from './bits-set.ts';
import { isFloat } from './checksums/tag-float.ts';
import { sampleRows, type PayloadRows } from './payload-rows.ts';

/** Single bits of a byte and pairs of them, as masks. */
const PARITIES = Array.from({ length: 256 }, (_, mask) => mask).filter((mask) => mask > 0 && BITS_SET[mask]! <= 2);

/** Rows that are looked at, and with fewer of which nothing is said. */
const ROWS_MAX = 3000;
const ROWS_MIN = 24;

/** Deviations from a half that one share of a byte may have: 72 shares a byte are looked at. */
const ONE_OFF = 4.5;
/** Deviations that the mean square of all of a run may have from its expectation, 1: squares of independent shares have a variance of 2. */
const ALL_OFF = 5;

/** Squares of the deviations from a half of the shares of ones of each parity, in variances of a coin: their sum, or null where one is too far. */
function squaresOf(values: Uint8Array): number | null {
  let sum = 0;
  for (const parity of PARITIES) {
    let ones = 0;
    for (const value of values) ones += BITS_SET[value & parity]! & 1;
    const square = (2 * ones - values.length) ** 2 / Math.max(1, values.length);
    if (square > ONE_OFF ** 2) return null;
    sum += square;
  }
  return sum;
}

const isLikely = (sum: number, count: number): boolean => sum <= count + ALL_OFF * Math.sqrt(2 * count);

/** By how much a byte's values and their differences are off, or null where they are none of random bits. */
function offOf({ bytes, count, data, joined }: PayloadRows, byte: number): number | null {
  const values = new Uint8Array(count);
  const differences: number[] = [];
  for (let row = 0; row < count; row++) {
    values[row] = data[row * bytes + byte] as number;
    if (row > 0 && joined[row] !== 0) differences.push(values[row]! ^ values[row - 1]!);
  }
  const own = squaresOf(Uint8Array.from(differences));
  const set = own === null ? null : squaresOf(values);
  return own === null || set === null || !isLikely(own + set, SHARES) ? null : own + set;
}
const SHARES = 2 * PARITIES.length;

/** Bytes that are noise at least. */
const RUN_MIN = 3;

/** Where the word of a floating-point number may begin whose precision ends, or begins, with a run of bytes: its exponent lies beside them, or one byte further. */
const WORD = 4;
const wordsBelow = (to: number): number[] => [to - WORD + 1, to - WORD + 2];
const wordsAbove = (from: number): number[] => [from - 1, from - 2];

/** What of a run is no precision of numbers whose exponents lie beside it. */
function besideFloats(payloads: readonly Uint8Array[], from: number, to: number): readonly [number, number] {
  const ends = wordsBelow(to).filter((start) => isFloat(payloads, start, 'little'));
  const starts = wordsAbove(from).filter((start) => isFloat(payloads, start, 'big'));
  return [Math.max(from, ...starts.map((start) => start + WORD)), Math.min(to, ...ends)];
}

/** usable: [bytes] bits that nothing holds. [bytes] 0xff for bytes that are noise. */
export function noiseBytes(all: PayloadRows, usable: Uint8Array): Uint8Array {
  const rows = sampleRows(all, ROWS_MAX);
  const { bytes, count, data } = rows;
  const mask = new Uint8Array(bytes);
  if (count < ROWS_MIN) return mask;
  const off = Array.from(usable, (bits, byte) => (bits === 0xff ? offOf(rows, byte) : null));
  for (let from = 0; from < bytes; from++) {
    let [to, sum] = [from, 0];
    for (; to < bytes && off[to] !== null; to++) sum += off[to] as number;
    const length = to - from;
    if (length >= RUN_MIN && isLikely(sum, length * SHARES)) {
      const payloads = Array.from({ length: count }, (_, row) => data.subarray(row * bytes, (row + 1) * bytes));
      const [first, end] = besideFloats(payloads, from, to);
      if (end - first >= RUN_MIN) mask.fill(0xff, first, end);
    }
    from = Math.max(from, to);
  }
  return mask;
}
