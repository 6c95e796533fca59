/**
 * Whether what counts is part of a clock or timer that runs faster than one unit a frame. Its upper bits alone may step evenly and come round: then
 * the bit above goes on in the same steps, or the bits below carry over into it. A counter stands alone: nothing above or below keeps its time.
 */
import type { Placement } from '../frames/bits.ts';
import { bitPositions } from '../frames/bits.ts';
import { hasBit } from './mask.ts';
import type { PayloadRows } from './payload-rows.ts';

interface Counting extends Placement {
  readonly step: number;
  readonly every: number;
  readonly min: number;
  readonly max: number;
  readonly right: number;
  readonly steps: number;
}

/** The next bits above the most significant position, or below the least, as the order goes on; fewer at the payload's end. */
function beyond(position: number, order: Placement['order'], upwards: boolean, count: number, bytes: number): number[] {
  const found: number[] = [];
  let at = position;
  while (found.length < count) {
    const inByte = upwards ? (at & 7) < 7 : (at & 7) > 0;
    if (inByte) at += upwards ? 1 : -1;
    else {
      const byte = (at >> 3) + ((order === 'little') === upwards ? 1 : -1);
      if (byte < 0 || byte >= bytes) break;
      at = byte * 8 + (upwards ? 0 : 7);
    }
    found.push(at);
  }
  return found;
}

const readAt = (data: Uint8Array, offset: number, positions: readonly number[]): number => {
  let value = 0;
  for (let i = positions.length - 1; i >= 0; i--) {
    const at = positions[i] as number;
    value = value * 2 + (((data[offset + (at >> 3)] as number) >> (at & 7)) & 1);
  }
  return value;
};

/**
 * Whether with the bits above the steps are as even as without, and of another size: then those bits are part of it. Under bits that stand
 * still the steps stay the same; those of an exclusive or over still content come again with the counter's value.
 */
function goesOnAbove(
  rows: PayloadRows,
  counter: Counting,
  positions: readonly number[],
  above: readonly number[],
): boolean {
  const wider = [...positions, ...above];
  const modulus = 2 ** wider.length;
  const times = new Map<number, number>();
  const lastOf = new Map<number, number>();
  const own = 2 ** positions.length;
  let [steps, same] = [0, 0];
  let now = readAt(rows.data, 0, wider);
  for (let row = 1; row < rows.count; row++) {
    const before = now;
    now = readAt(rows.data, row * rows.bytes, wider);
    if (rows.joined[row] === 0) continue;
    const step = (now - before + modulus) % modulus;
    if (step === 0) continue;
    steps++;
    if (lastOf.get(now % own) === now) same++;
    lastOf.set(now % own, now);
    times.set(step, (times.get(step) ?? 0) + 1);
  }
  const [step, most] = [...times].reduce((best, entry) => (entry[1] > best[1] ? entry : best), [0, 0]);
  if (step === (counter.step + modulus) % modulus || same > DETERMINED * (steps - lastOf.size)) return false;
  return most >= (counter.right / counter.steps - EVENNESS) * steps && most > STEPS_MIN;
}
const EVENNESS = 0.01;
const BITS_ABOVE = 2;
const DETERMINED = 0.7;
const STEPS_MIN = 12;

/** Bits below that are looked at for carries, and the share of steps that must bear a carry out. */
const BITS_BELOW = 6;
const CARRY_SHARE = 0.9;
const CARRIES_MIN = 4;

/** Whether it steps once more (or at all, where it holds for some frames) whenever the bits below wrap, and only then. */
function isCarriedInto(
  rows: PayloadRows,
  { step, every, min, max }: Counting,
  positions: readonly number[],
  below: readonly number[],
): boolean {
  const modulus = max - min + 1;
  const half = 2 ** (below.length - 1);
  const usual = every > 1 ? 0 : step;
  let [wraps, carried, plain, quiet] = [0, 0, 0, 0];
  let [value, low] = [readAt(rows.data, 0, positions), readAt(rows.data, 0, below)];
  for (let row = 1; row < rows.count; row++) {
    const [valueBefore, lowBefore] = [value, low];
    value = readAt(rows.data, row * rows.bytes, positions);
    low = readAt(rows.data, row * rows.bytes, below);
    if (rows.joined[row] === 0) continue;
    const own = (((value - valueBefore - usual) % modulus) + modulus) % modulus;
    const rest = low - lowBefore;
    if (Math.abs(rest) > half) {
      wraps++;
      if (own === (rest < 0 ? 1 : modulus - 1)) carried++;
    } else {
      quiet++;
      if (own === 0) plain++;
    }
  }
  return wraps >= CARRIES_MIN && carried >= CARRY_SHARE * wraps && plain >= CARRY_SHARE * quiet;
}

/** Counters of more than a byte count frames one by one (common practice, no source). */
const BYTE_BITS = 8;

/** tags: [bytes] bits that are known to be a tag's, and so no part of any ramp. */
export function isPartOfRamp(rows: PayloadRows, counter: Counting, tags: Uint8Array | null = null): boolean {
  const { length, order, step } = counter;
  if (length > BYTE_BITS && Math.abs(step) > 1) return true;
  const positions = bitPositions(counter);
  const orders: Placement['order'][] = positions.every((at) => at >> 3 === counter.lsb.byte)
    ? ['little', 'big']
    : [order];
  const upToTag = (found: readonly number[]): number[] => {
    const end = tags ? found.findIndex((at) => hasBit(tags, at)) : -1;
    return found.slice(0, end < 0 ? found.length : end);
  };
  return orders.some((each) => {
    const above = upToTag(beyond(positions.at(-1) as number, each, true, BITS_ABOVE, rows.bytes));
    if (above.length > 0 && length > 1 && goesOnAbove(rows, counter, positions, above)) return true;
    const below = upToTag(beyond(positions[0] as number, each, false, BITS_BELOW, rows.bytes)).reverse();
    return below.length > 1 && isCarriedInto(rows, counter, positions, below);
  });
}
