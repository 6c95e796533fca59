/**
 * Counters: a run of bits that steps by the same amount from frame to frame, in any order, width, step and modulus.
 * A ramp, an odometer or a clock also steps evenly for a while; a counter comes round, at every (or every k-th) frame,
 * and goes on stepping while everything else stands still. Frames that the log lost show as steps of a
 * whole multiple, and are counted, not held against it.
 */
import type { ByteOrder, Placement } from '../frames/bits.ts';
import { bitPositions, rawReader } from '../frames/bits.ts';
import { STEPS_MIN, tryPlacement, type CounterFinding } from './counter-at.ts';
import { VALUES_MIN, WIDTH_MAX } from './counter-range.ts';
import { EVERY_MAX } from './counter-tally.ts';
import { claim, hasBit, holds } from './mask.ts';
import { isPartOfRamp } from './part-of-ramp.ts';
import { countFlips, type PayloadRows } from './payload-rows.ts';
import type { Steps } from './steps.ts';

const TOGGLE_RIGHT_MIN = 0.93;

/** Whether it ends where its bits do, or one value before. */
const endsWithBits = ({ max, length }: CounterFinding): boolean => max >= 2 ** length - 2;

/**
 * Whether a counter came round: what has not yet may as well be a clock or an odometer. Once is enough for what fills a byte and steps at every frame,
 * as nothing else ends there: what goes on into another byte is told by its carry. What ends elsewhere must do so twice at the same value: a timer that starts
 * again whenever its module does goes back from anywhere.
 */
function isNoRamp(counter: CounterFinding): boolean {
  const { length, right, steps, rounds, whole, every, lsb, min, max } = counter;
  if (length === 1) return right >= TOGGLE_RIGHT_MIN * steps && steps >= 24;
  const fillsByte = length === BYTE_BITS && lsb.bit === 0 && min <= 1 && max === 255;
  return rounds >= (fillsByte && every === 1 ? 1 : 2) && (endsWithBits(counter) || whole >= 2);
}

/**
 * Whether bits beside a counter of few values, in its own byte, tell the same as it does: then values take turns that are longer than it, such as
 * the letters of a text on two pages. flips: of each bit.
 */
function tellsWithOthers(rows: PayloadRows, counter: CounterFinding, flips: Float64Array): boolean {
  if (counter.max - counter.min + 1 >= VALUES_MIN) return false;
  const read = rawReader(counter);
  const { byte, bit } = counter.lsb;
  const own = ((1 << counter.length) - 1) << bit;
  const masks = Array.from({ length: 8 }, (_, at) => 1 << at).filter(
    (mask, at) => (mask & own) === 0 && (flips[byte * 8 + at] as number) > 0,
  );
  return masks.some((mask) => {
    const seen = new Map<number, number>();
    let [same, all] = [0, 0];
    for (let row = 0; row < rows.count; row++) {
      const value = read(rows.data, row * rows.bytes);
      const other = (rows.data[row * rows.bytes + byte] as number) & mask;
      if (seen.has(value)) all++;
      if (seen.get(value) === other) same++;
      seen.set(value, other);
    }
    return (flips[byte * 8 + Math.log2(mask)] as number) >= TELLS_FLIPS * counter.steps && same >= TELLS_SHARE * all;
  });
}
const TELLS_FLIPS = 0.3;
const TELLS_SHARE = 0.97;

const CLOCK_MODULI = [24, 60];
/** Seconds, minutes and hours come round too, and guard nothing. */
export const countsLikeClock = ({ min, max }: { readonly min: number; readonly max: number }): boolean =>
  CLOCK_MODULI.includes(max - min + 1);

function* placements(bytes: number, lsb: number, free: Uint8Array): Generator<Placement> {
  for (const order of ['little', 'big'] as ByteOrder[]) {
    let position = lsb;
    for (let length = 1; length <= WIDTH_MAX; length++) {
      if (position < 0 || position >= bytes * 8) break;
      if (!hasBit(free, position)) break;
      const crosses = position >> 3 !== lsb >> 3;
      if (crosses || order === 'little')
        yield { lsb: { byte: lsb >> 3, bit: lsb & 7 }, length, order: crosses ? order : 'little' };
      position = (position & 7) === 7 ? (order === 'little' ? position + 1 : (position & ~7) - 8) : position + 1;
    }
  }
}

/** A wider counter may be this much less often right than a narrower one, and once more: no more than chance does. */
const WORSE_BY = 0.003;
/** One that comes round as often as its modulus says may be so by every gap of the log: a toggle does not see the loss of two frames. */
const GAPS = 10;
const GAPS_SHARE = 0.01;
const ROUNDS_SHARE = 0.7;
/** Beyond its byte a counter's neighbour may as well be a value that seldom moves. */
const BYTE_BITS = 8;

function isNoWorse(wider: CounterFinding, best: CounterFinding): boolean {
  if ((wider.right + 1) / wider.steps >= best.right / best.steps - WORSE_BY) return true;
  const { lsb, length, step, min, max, right, steps, rounds } = wider;
  if (lsb.bit + length > BYTE_BITS) return false;
  const expected = (right * Math.abs(step)) / (max - min + 1);
  const comesRound = rounds >= 2 && rounds >= ROUNDS_SHARE * expected;
  return comesRound && best.right - right <= Math.max(GAPS, GAPS_SHARE * steps);
}

/** The longest run of free bits from `lsb` on that keeps to one rule. */
function longestAt(rows: PayloadRows, lsb: number, free: Uint8Array): CounterFinding | null {
  let best: CounterFinding | null = null;
  const hopeless = new Set<ByteOrder>();
  for (const placement of placements(rows.bytes, lsb, free)) {
    if (hopeless.has(placement.order)) continue;
    const found = tryPlacement(rows, placement);
    if (found === 'hopeless') hopeless.add(placement.order);
    else if (found && (best === null || isNoWorse(found, best))) best = found;
  }
  return best;
}

function isWithin(part: Placement, whole: Placement): boolean {
  const own = new Set(bitPositions(whole));
  return bitPositions(part).every((at) => own.has(at));
}

/** Shares of right steps that differ by less than one part in so many are alike; the wider counter is then taken. */
const SHARE_STEPS = 200;
const SHARES_MISSED = 3;

/** Rows for the search; each finding is then held against the rest. */
export const COUNTER_ROWS = 6000;
/** In few long stretches: a wide counter must be seen coming round. */
export const COUNTER_STRETCHES = 3;

/**
 * Counters among the free bits, none overlapping another or the low end of a longer ramp.
 * rows: consecutive frames (a sample in blocks will do); free: [bytes] mask of bits that moved and are unclaimed;
 * tags: [bytes] bits of known tags where what did not come round counts as well, or null.
 */
export function* findCounters(
  rows: PayloadRows,
  free: Uint8Array,
  tags: Uint8Array | null = null,
): Steps<CounterFinding[]> {
  const flips = countFlips(rows);
  const least = Math.max(STEPS_MIN, rows.count / (EVERY_MAX * 2));
  const candidates: CounterFinding[] = [];
  for (let lsb = 0; lsb < rows.bytes * 8; lsb++) {
    if ((flips[lsb] as number) < least || !hasBit(free, lsb)) continue;
    const counter = longestAt(rows, lsb, free);
    if (counter) candidates.push(counter);
    yield rows.count * WIDTH_MAX;
  }
  const share = ({ right, steps }: CounterFinding): number => Math.round(SHARE_STEPS * (right / steps));
  candidates.sort((a, b) => share(b) - share(a) || b.length - a.length);
  const mayCount = new Map<CounterFinding, boolean>();
  const counts = (counter: CounterFinding): boolean => {
    const known = mayCount.get(counter) ?? ((tags !== null || isNoRamp(counter)) && !isPartOfRamp(rows, counter, tags));
    mayCount.set(counter, known);
    return known;
  };
  // The upper bits of a counter, which step every second frame, miss half of the log's gaps.
  const isUpperPart = (counter: CounterFinding): boolean =>
    candidates.some(
      (whole) =>
        whole.length > counter.length &&
        counter.every >= 2 * whole.every &&
        share(whole) >= share(counter) - SHARES_MISSED &&
        isWithin(counter, whole) &&
        counts(whole),
    );
  const left = free.slice();
  const found: CounterFinding[] = [];
  for (const counter of candidates) {
    if (!holds(left, counter) || isUpperPart(counter)) continue;
    if (counts(counter) && !tellsWithOthers(rows, counter, flips)) found.push(counter);
    claim(left, counter);
  }
  return found;
}
