/**
 * Bytes and nibbles that change like a tag: from payload to payload each bit flips in half of all cases, no two bits flip together more often than chance
 * has it (as digits of a noisy number do), and no byte beside them carries over when they wrap. Compared are distinct payloads, so that a tag
 * that comes again with its content is not counted twice.
 */
import { BITS_SET } from '../bits-set.ts';

export interface TagRun {
  readonly byte: number;
  readonly bytes: number;
}

/** Half a byte: bits 0 to 3 or 4 to 7. */
export interface TagNibble {
  readonly byte: number;
  readonly bit: 0 | 4;
}

/** Pairs of distinct payloads without which nothing is said of a byte. */
const PAIRS_MIN = 24;
/** Standard errors within which a share must lie: 36 shares a byte and 8 bytes are looked at. */
const ERRORS = 4.2;

/** Whether the differences of one byte are uniform over the values of some of its bits, as far as bits and pairs of bits tell. */
function isUniform(differences: Uint8Array, bits = 0xff): boolean {
  const bound = ERRORS * Math.sqrt(differences.length);
  for (let mask = 1; mask < 256; mask++) {
    if (BITS_SET[mask]! > 2 || (mask & ~bits) !== 0) continue;
    let balance = 0;
    for (const difference of differences) balance += BITS_SET[difference & mask]! & 1 ? 1 : -1;
    if (Math.abs(balance) > bound) return false;
  }
  return true;
}

/** Steps of the byte beside, small ones, by which a carry is told; and the share that must go against the low byte. */
const CARRIES_MIN = 10;
const CARRY_SHARE = 0.75;

/** Whether `high` goes up by one or two mostly as `low` falls: then both are one number. */
function carries(payloads: readonly Uint8Array[], low: number, high: number): boolean {
  let against = 0;
  let steps = 0;
  for (let index = 1; index < payloads.length; index++) {
    const [before, now] = [payloads[index - 1] as Uint8Array, payloads[index] as Uint8Array];
    const step = (now[high] as number) - (before[high] as number);
    const rest = (now[low] as number) - (before[low] as number);
    if (step === 0 || Math.abs(step) > 2 || rest === 0) continue;
    steps++;
    if (step > 0 !== rest > 0) against++;
  }
  return steps >= CARRIES_MIN && against >= CARRY_SHARE * steps;
}

function differencesOf(payloads: readonly Uint8Array[], byte: number): Uint8Array {
  const differences = new Uint8Array(Math.max(0, payloads.length - 1));
  for (let index = 1; index < payloads.length; index++)
    differences[index - 1] = (payloads[index]![byte] as number) ^ (payloads[index - 1]![byte] as number);
  return differences;
}

/** Longer runs are ciphertext rather than a tag. */
const BYTES_MAX = 8;

/**
 * Runs of whole bytes that may be a tag. payloads: distinct ones in the order sent; usable: [bytes] bits that nothing else holds.
 */
export function tagRuns(payloads: readonly Uint8Array[], usable: Uint8Array): TagRun[] {
  if (payloads.length <= PAIRS_MIN) return [];
  const runs: { byte: number; bytes: number }[] = [];
  usable.forEach((bits, byte) => {
    if (bits !== 0xff || !isUniform(differencesOf(payloads, byte))) return;
    const last = runs.at(-1);
    if (last && last.byte + last.bytes === byte) last.bytes++;
    else runs.push({ byte, bytes: 1 });
  });
  return runs.filter(({ byte, bytes }) => {
    const end = byte + bytes;
    const isNumber =
      (byte > 0 && carries(payloads, byte, byte - 1)) || (end < usable.length && carries(payloads, end - 1, end));
    return bytes <= BYTES_MAX && !isNumber;
  });
}

/** Nibbles that may be a tag, in bytes of which something else holds the other half. */
export function tagNibbles(payloads: readonly Uint8Array[], usable: Uint8Array): TagNibble[] {
  if (payloads.length <= PAIRS_MIN) return [];
  const found: TagNibble[] = [];
  usable.forEach((bits, byte) => {
    for (const bit of [0, 4] as const) {
      const own = 0x0f << bit;
      if (bits === 0xff || (bits & own) !== own) continue;
      if (isUniform(differencesOf(payloads, byte), own)) found.push({ byte, bit });
    }
  });
  return found;
}
