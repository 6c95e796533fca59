/**
 * Counters: a run of bits that steps by the same amount from frame to frame, in any order, width, step and modulus.
 * A ramp, an odometer or a clock also steps evenly for a while; a counter comes round, at every (or every k-th) frame,
 * and goes on stepping while everything else stands still. Frames that the log lost show as steps of a
 * whole multiple, and are counted, not held against it.
 */
import type { ByteOrder, Placement } from '../frames/bits.ts';
import { bitPositions, rawReader } from '../frames/bits.ts';
import { claim, hasBit, holds } from './mask.ts';
import { isPartOfRamp } from './part-of-ramp.ts';
import { readShort, type PayloadRows } from './payload-rows.ts';
import { countFlips } from './payload-rows.ts';
import type { Steps } from './steps.ts';

export interface CounterFinding extends Placement {
  readonly step: number;
  readonly every: number;
  readonly min: number;
  readonly max: number;
  /** Steps that were as predicted, and all steps looked at. */
  readonly right: number;
  readonly steps: number;
  /** Jumps of a whole multiple of the step: frames that the log lost, at least. */
  readonly lost: number;
  /** Times it came round. */
  readonly rounds: number;
}

const WIDTH_MAX = 16;
const EVERY_MAX = 16;
const STEPS_MIN = 12;
/** Of all steps between frames this share must be as predicted; more are lost or reset only in a broken log. */
const RIGHT_MIN = 0.95;
/** Gaps in a log are few: so many jumps are excused where a slow frame has few steps in all, if this share is right nevertheless. */
const LOSSES = 6;
const RIGHT_LEAST = 0.85;
/** Where a value is held for some frames each lost one makes a step early, and none makes one late, as a timer does as often. */
const RIGHT_LEAST_HELD = 0.75;

interface Rule {
  readonly step: number;
  readonly min: number;
  readonly max: number;
}

const valuesOf = (rows: PayloadRows, placement: Placement): Uint32Array =>
  readShort(rows, placement, new Uint32Array(rows.count));

/** Times of whole numbers from 0 to below 2^17, in the order first met; used again for every placement. */
class Times {
  private readonly counts = new Uint32Array(2 ** (WIDTH_MAX + 1));
  private met: number[] = [];

  clear(): void {
    for (const each of this.met) this.counts[each] = 0;
    this.met = [];
  }

  add(value: number): void {
    if (this.counts[value]!++ === 0) this.met.push(value);
  }

  /** The most frequent one and the next: of equals the first met; 0 times where there is none. */
  most(): { readonly value: number; readonly times: number; readonly nextTimes: number } {
    let [value, times, nextTimes] = [0, 0, 0];
    for (const each of this.met) {
      const own = this.counts[each] as number;
      if (own > times) [value, times, nextTimes] = [each, own, times];
      else if (own > nextTimes) nextTimes = own;
    }
    return { value, times, nextTimes };
  }
}
const TIMES = new Times();

interface Guess extends Rule {
  /** Steps from one row to the next that are not 0, and how many of them any rule with this step may explain at most. */
  readonly changes: number;
  readonly explained: number;
}

/** The most frequent step other than 0, modulo 2^length, and the least and greatest value between which it runs. */
function guessRule(values: Uint32Array, joined: Uint8Array, length: number): Guess | null {
  const modulus = 2 ** length;
  TIMES.clear();
  let [min, max, changes] = [Infinity, 0, 0];
  for (let row = 0; row < values.length; row++) {
    const value = values[row] as number;
    if (value < min) min = value;
    if (value > max) max = value;
    if (row === 0 || joined[row] === 0) continue;
    const step = (value - (values[row - 1] as number) + modulus) & (modulus - 1);
    if (step === 0) continue;
    changes++;
    TIMES.add(step);
  }
  // Whatever its modulus, a rule steps by its step or, coming round, by one other amount.
  const { value: best, times, nextTimes } = TIMES.most();
  if (times === 0) return null;
  return { step: best > modulus / 2 ? best - modulus : best, min, max, changes, explained: times + nextTimes };
}

/** Without a stray value at an end (a start-up filling): a counter visits its ends as often as its middle. */
function tightenRange(values: Uint32Array, rule: Rule): Rule {
  const width = rule.max - rule.min + 1;
  if (width > 256) return rule;
  const times = new Uint32Array(width);
  for (let row = 0; row < values.length; row++) times[(values[row] as number) - rule.min]!++;
  const few = values.length / width / 4;
  let { min, max } = rule;
  if ((times[min - rule.min] as number) < few) min++;
  if ((times[max - rule.min] as number) < few) max--;
  return max - min >= 1 ? { ...rule, min, max } : rule;
}

/** The modulus from how it comes round: a step of 3 modulo 15 goes from 12 to 0 and never shows 13 or 14. */
function widenRange(values: Uint32Array, joined: Uint8Array, rule: Rule, length: number): Rule {
  const shift = 2 ** length;
  const back = -Math.sign(rule.step);
  TIMES.clear();
  for (let row = 1; row < values.length; row++) {
    const jump = (values[row] as number) - (values[row - 1] as number);
    if (joined[row] !== 0 && jump * back > 0) TIMES.add(jump + shift);
  }
  const { value, times } = TIMES.most();
  const round = times === 0 ? 0 : value - shift;
  const modulus = Math.abs(rule.step - round);
  const min = Math.min(rule.min, 2 ** length - modulus);
  const max = min + modulus - 1;
  return round !== 0 && min >= 0 && max > rule.max ? { ...rule, min, max } : rule;
}

/** A jump over more of its range than this is no gap in the log that fell upon its coming round. */
const ROUND_SHARE = 0.25;

interface Tally {
  right: number;
  steps: number;
  lost: number;
  rounds: number;
  /** Right steps that came early: of the frames for which it holds the log lost some. */
  early: number;
}

/** The value that follows one, also where that lies outside the range. */
function dueAfter(before: number, { step, min, max }: Rule, modulus: number): number {
  const next = before + step;
  if (before >= min && before <= max && next >= min && next <= max) return next;
  return min + ((((next - min) % modulus) + modulus) % modulus);
}

function tallyRule(values: Uint32Array, joined: Uint8Array, rule: Rule, every: number): Tally {
  const { step, min, max } = rule;
  const modulus = max - min + 1;
  const sign = Math.sign(step);
  const farthest = Math.max(Math.abs(step), ROUND_SHARE * modulus);
  let [right, steps, lost, rounds, early, held] = [0, 0, 0, 0, 0, 0];
  let whole = false;
  let now = values[0] as number;
  for (let row = 1; row < values.length; row++) {
    const before = now;
    now = values[row] as number;
    if (joined[row] === 0) {
      held = 0;
      whole = false;
      continue;
    }
    held++;
    if (now === before) {
      if (held < every) continue;
      steps++;
      // A toggle shows the same again where one frame is lost: that is one wrong step, and the next is right.
      if (every === 1) held = 0;
      continue;
    }
    const isDue = now === dueAfter(before, rule, modulus);
    steps++;
    if (isDue && (!whole || held === every)) right++;
    else if (isDue && held === every - 1) early++;
    else if (now >= min && now <= max && (now - before) % step === 0) lost++;
    if (now > before !== step > 0 && ((now - before) * sign + modulus) % modulus <= farthest) rounds++;
    held = 0;
    whole = true;
  }
  return { right, steps, lost, rounds, early };
}

/** The usual number of frames from one move to the next. */
function usualHold(values: Uint32Array, joined: Uint8Array): number {
  const holds = new Uint32Array(EVERY_MAX + 2);
  let held = 0;
  for (let row = 1; row < values.length; row++) {
    held = joined[row] === 0 ? 0 : held + 1;
    if (joined[row] === 0 || values[row] === values[row - 1]) continue;
    holds[Math.min(held, EVERY_MAX + 1)]!++;
    held = 0;
  }
  let best = 1;
  for (let k = 1; k < holds.length; k++) if ((holds[k] as number) > (holds[best] as number)) best = k;
  return best;
}

/** Counters step by small amounts; larger ones arise where two counters are read as one. */
const STEP_MAX = 31;

/** Below this share of right steps no wider reading of the same bits can be a counter. */
const HOPELESS_SHARE = 0.5;
/** The lowest bits of a step of 2 modulo 15 look irregular on their own. */
const SHORT_BITS = 3;

/** Fewer values than this, come to in steps of a whole part of the range, are turns of a few values. */
const VALUES_MIN = 4;

/** The greatest common divisor. */
export const commonPart = (a: number, b: number): number => (b === 0 ? a : commonPart(b, a % b));

/** Whether it comes to enough values; to few only where they are all that its bits allow, but one. */
function runsThroughEnough({ step, min, max }: Rule, length: number): boolean {
  const range = max - min + 1;
  const values = range / commonPart(range, Math.abs(step));
  return values >= VALUES_MIN || (values === range && min <= 1 && max - min >= 2 ** length - 2);
}

/** The guess and what its range may be else, each once. */
function rangesOf(values: Uint32Array, joined: Uint8Array, { step, min, max }: Guess, length: number): Rule[] {
  const guess: Rule = { step, min, max };
  const tight = tightenRange(values, guess);
  const isSame = (a: Rule, b: Rule): boolean => a.min === b.min && a.max === b.max;
  const own = isSame(tight, guess) ? [guess] : [guess, tight];
  const all = own.flatMap((rule) => [rule, widenRange(values, joined, rule, length)]);
  return all.filter((rule, index) => all.findIndex((each) => isSame(each, rule)) === index);
}

function tryPlacement(rows: PayloadRows, placement: Placement): CounterFinding | 'hopeless' | null {
  const { length } = placement;
  const values = valuesOf(rows, placement);
  const guess = guessRule(values, rows.joined, length);
  if (!guess || Math.abs(guess.step) > STEP_MAX) return 'hopeless';
  const every = usualHold(values, rows.joined);
  if (every > EVERY_MAX) return null;
  const withoutHope = length > SHORT_BITS ? 'hopeless' : null;
  if (guess.explained < HOPELESS_SHARE * guess.changes) return withoutHope;
  const tallied = rangesOf(values, rows.joined, guess, length).map((rule) => ({
    rule,
    tally: tallyRule(values, rows.joined, rule, every),
  }));
  const { rule, tally } = tallied.reduce((best, each) => (each.tally.right > best.tally.right ? each : best));
  if (tally.right < HOPELESS_SHARE * tally.steps) return withoutHope;
  if (length > 1 && rule.max < 2 ** (length - 1)) return null;
  // An even step with an even modulus would leave the lowest bit still.
  if (rule.step % 2 === 0 && (rule.max - rule.min) % 2 === 1) return null;
  if (!runsThroughEnough(rule, length)) return null;
  const excused = Math.min(tally.lost, LOSSES) + tally.early;
  if (tally.steps < STEPS_MIN || tally.right + excused < RIGHT_MIN * tally.steps) return null;
  if (tally.right < (every > 1 ? RIGHT_LEAST_HELD : RIGHT_LEAST) * tally.steps) return null;
  const { right, steps, rounds } = tally;
  const lost = tally.lost + tally.early;
  return { ...placement, ...rule, every, right, steps, lost, rounds };
}

const TOGGLE_RIGHT_MIN = 0.93;

/** Whether a counter came round: what has not yet may as well be a clock or an odometer. */
function isNoRamp(counter: CounterFinding): boolean {
  if (counter.length === 1) return counter.right >= TOGGLE_RIGHT_MIN * counter.steps && counter.steps >= 24;
  return counter.rounds >= 2;
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

/** A counter through fewer values than this that another one determines is a bit of a tag or of that one's shadow. */
const OWN_VALUES = 8;
/** Up to this many bytes a frame has one counter; longer ones may have guarded parts that count in step. */
const SHORT_FRAME = 8;
const DETERMINED_SHARE = 0.97;

interface CounterRange extends Placement {
  readonly min: number;
  readonly max: number;
}

/** A frame may be broken in which one is written twice. */
const COPY_SHARE = 0.99;

/** By how much a counter of many values is ahead of another, the same throughout: one is written twice. Null where they do not go in step. */
export function aheadOf(rows: PayloadRows, counter: CounterRange, other: CounterRange): number | null {
  const modulus = counter.max - counter.min + 1;
  if (modulus < OWN_VALUES || counter.length !== other.length || rows.count === 0) return null;
  const [own, others] = [valuesOf(rows, counter), valuesOf(rows, other)];
  const ahead = (row: number): number => ((own[row] as number) - (others[row] as number) + modulus) % modulus;
  const usual = ahead(rows.count >> 1);
  const differing = own.reduce((count, _, row) => count + Number(ahead(row) !== usual), 0);
  return differing <= (1 - COPY_SHARE) * rows.count ? usual : null;
}

/** Whether a counter always shows the same value when another counter shows one. */
export function shadows(rows: PayloadRows, counter: CounterRange, other: CounterRange): boolean {
  if (rows.bytes > SHORT_FRAME && counter.max - counter.min + 1 >= OWN_VALUES) return false;
  if (aheadOf(rows, counter, other) !== null) return false;
  const own = valuesOf(rows, counter);
  const lastOf = new Map<number, number>();
  let same = 0;
  valuesOf(rows, other).forEach((value, row) => {
    if (lastOf.get(value) === own[row]) same++;
    lastOf.set(value, own[row] as number);
  });
  return same >= DETERMINED_SHARE * (rows.count - lastOf.size);
}
