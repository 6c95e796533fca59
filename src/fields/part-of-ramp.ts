/**
 * Whether what counts is part of a clock or timer that runs faster than one unit a frame. Its upper bits alone may step evenly and come round: then
 * the bit above goes on in the same steps, or the bits below carry over into it. A counter stands alone: nothing above or below keeps its time.
 */
import type { Placement } from '../frames/bits.ts';
import { bitPositions } from '../frames/bits.ts';
import type { CounterFinding } from './counter-at.ts';
import { hasBit } from './mask.ts';
import type { PayloadRows } from './payload-rows.ts';

type Counting = Omit<CounterFinding, 'lost' | 'rounds' | 'whole'>;

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
 * Whether with the bits above the steps are as even as without, and of another size, also where it comes round: then those bits are part of it. Under bits
 * that stand still the steps stay the same; those of an exclusive or over still content come again with the counter's value; what counts by itself
 * takes no carry.
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
  const sign = Math.sign(counter.step);
  const atRounds = new Map<number, number>();
  let [steps, same, rounds] = [0, 0, 0];
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
    if (((now % own) - (before % own)) * sign >= 0) continue;
    rounds++;
    atRounds.set(step, (atRounds.get(step) ?? 0) + 1);
  }
  const [step, most] = [...times].reduce((best, entry) => (entry[1] > best[1] ? entry : best), [0, 0]);
  if (step === (counter.step + modulus) % modulus || same > DETERMINED * (steps - lastOf.size)) return false;
  if (2 * (atRounds.get(step) ?? 0) < rounds || rounds === 0) return false;
  return most >= (counter.right / counter.steps - EVENNESS) * steps && most > STEPS_MIN;
}
const EVENNESS = 0.01;
const BITS_ABOVE = 2;
const DETERMINED = 0.7;
const STEPS_MIN = 12;

/**
 * Whether the bit above turns at nearly every round, and hardly ever else: it is carried into. Each such turn is as unlikely by chance as rounds
 * are seldom. A toggle of a value that goes up and down carries on the way up and borrows on the way down, for some rows each.
 */
function carriesInto(
  rows: PayloadRows,
  { step, length }: Counting,
  positions: readonly number[],
  above: number,
): boolean {
  const sign = Math.sign(step);
  let [rounds, turns, together, alike, last] = [0, 0, 0, 0, 0];
  let [value, bit] = [readAt(rows.data, 0, positions), readAt(rows.data, 0, [above])];
  for (let row = 1; row < rows.count; row++) {
    const [valueBefore, bitBefore] = [value, bit];
    value = readAt(rows.data, row * rows.bytes, positions);
    bit = readAt(rows.data, row * rows.bytes, [above]);
    if (rows.joined[row] === 0) continue;
    const comesRound = (value - valueBefore) * sign < 0;
    if (comesRound) rounds++;
    if (bit === bitBefore) continue;
    turns++;
    if (comesRound) together++;
    const way = Math.sign(value - valueBefore);
    if (way === last) alike++;
    if (way !== 0) last = way;
  }
  if (turns < TURNS_SHARE * rounds || rounds === 0) return false;
  const isTied = together >= CARRY_SHARE * turns && together * Math.log2(rows.count / rounds) >= CARRY_BITS;
  return isTied || (length === 1 && alike >= turns / 2 + ALIKE_DEVIATIONS * Math.sqrt(turns) * 0.5);
}
const TURNS_SHARE = 0.8;
/** Of evidence: one chance in 2^8 for each of the few neighbours looked at. */
const CARRY_BITS = 8;
const ALIKE_DEVIATIONS = 5;

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
  // Of a single bit below it is told only which way it turned: a fall carries into what counts up, a rise borrows from what counts down.
  const half = below.length === 1 ? 0 : 2 ** (below.length - 1);
  const isWrap = (rest: number): boolean => (half > 0 ? Math.abs(rest) > half : rest * step < 0);
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
    if (isWrap(rest)) {
      wraps++;
      if (own === (rest < 0 ? 1 : modulus - 1)) carried++;
    } else {
      quiet++;
      if (own === 0) plain++;
    }
  }
  // One bit below turns at every other step of whatever steps on a change alone: then as many steps come without it.
  if (half === 0 && quiet - plain > (1 - CARRY_SHARE) * carried) return false;
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
    // Where the value ends above is not known either: one bit more may be another's.
    if (length > 1 && above.some((_, last) => goesOnAbove(rows, counter, positions, above.slice(0, last + 1))))
      return true;
    if (above.length > 0 && carriesInto(rows, counter, positions, above[0] as number)) return true;
    const below = upToTag(beyond(positions[0] as number, each, false, BITS_BELOW, rows.bytes));
    // Where the value below ends is not known: its upper bits tell alone.
    return below.some((_, last) => isCarriedInto(rows, counter, positions, below.slice(0, last + 1).reverse()));
  });
}
