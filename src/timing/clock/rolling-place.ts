/**
 * Where in a payload a value steps by one and the same amount from frame to frame, modulo the size of its range: a light recogniser, made
 * to count lost frames and no more. The lowest bit of such a value flips with nearly every frame, so candidates are cheap to find; the
 * widest run of bits over such a bit that still keeps step is the value. What carries on into other bytes when it
 * wraps is part of a longer quantity (an odometer, a ramp, a clock) and no counter of frames.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import type { Stream } from '../../frames/table.ts';

export interface RollingPlace {
  /** Byte of the least significant bit; `bit` is 0 for what fills whole bytes. */
  readonly byte: number;
  readonly bit: number;
  /** Bits; above 8 the value goes on in the next byte (`little`) or the one before (`big`). */
  readonly length: number;
  readonly order: 'little' | 'big';
}

/** What a place holds, with the rule it follows. */
export interface RollingRule {
  readonly place: RollingPlace;
  /** Added from frame to frame, in the range -max..max, never 0. */
  readonly step: number;
  readonly min: number;
  readonly max: number;
  /** Share of the pairs of frames looked at that differ by just the step. */
  readonly share: number;
}

const FRAMES_LEAST = 40;
/** Pairs of neighbours are looked at in blocks spread over the stream. */
const BLOCKS = 16;
const BLOCK_ROWS = 128;
/** The lowest bit of a counter flips with every frame that follows the one before; losses of one in four are borne. */
const FLIPS_LEAST = 0.6;
/** Small ranges are hit by chance more often. */
const SHARE_LEAST = 0.7;
const SHARE_LEAST_SMALL = 0.95;
const SMALL_LENGTH = 3;
const MODULUS_SMALL = 6;
/** Seconds and minutes go round so, and count time. */
const SECONDS_A_MINUTE = 60;
/** A value is of the range where it comes at least at this share of the mean frequency. */
const RARE = 0.1;
/** The range has to be gone through at least so often, the widest ones aside. */
const TURNS_LEAST = 2;
const TURNS_LEAST_BYTE = 1.2;
/** Another byte that steps at most wraps, and hardly ever elsewhere, belongs to the same quantity. */
const CARRY_SHARE = 0.8;
const CARRY_ELSEWHERE = 0.02;
const WRAPS_LOOKED_AT = 64;

/** [2 * blocks] first row and one past the last of each block. */
function blocksOf(count: number): Int32Array {
  if (count <= BLOCKS * BLOCK_ROWS) return Int32Array.of(0, count);
  const edges = new Int32Array(2 * BLOCKS);
  for (let i = 0; i < BLOCKS; i++) {
    const from = Math.floor((i * (count - BLOCK_ROWS)) / (BLOCKS - 1));
    edges[2 * i] = from;
    edges[2 * i + 1] = from + BLOCK_ROWS;
  }
  return edges;
}

/** Bits of a byte that flip with nearly every frame; -1 in `flips` is never: bit places 0..7. */
function restlessBits({ payload, stride }: Stream, byte: number, blocks: Int32Array): number[] {
  const flips = new Int32Array(8);
  let pairs = 0;
  for (let block = 0; block < blocks.length; block += 2) {
    for (let row = (blocks[block] as number) + 1; row < (blocks[block + 1] as number); row++) {
      const moved = (payload[row * stride + byte] as number) ^ (payload[(row - 1) * stride + byte] as number);
      pairs++;
      for (let bit = 0; bit < 8; bit++) flips[bit] = (flips[bit] as number) + ((moved >> bit) & 1);
    }
  }
  return [0, 1, 2, 3, 4, 5, 6, 7].filter((bit) => (flips[bit] as number) >= FLIPS_LEAST * pairs);
}

/** The value at a place in one frame. */
export function rollingAt({ payload, stride }: Stream, row: number, place: RollingPlace): number {
  const at = row * stride + place.byte;
  const low = payload[at] as number;
  if (place.length <= 8) return (low >> place.bit) & ((1 << place.length) - 1);
  return low | ((payload[at + (place.order === 'little' ? 1 : -1)] as number) << 8);
}

/** Least and greatest of the values that come often, or null where they come too unevenly for a value that goes round. */
function rangeOf(counts: Int32Array, pairs: number): { min: number; max: number } | null {
  const distinct = counts.reduce((sum, count) => sum + (count > 0 ? 1 : 0), 0);
  const often = (RARE * pairs) / distinct;
  let [min, max] = [-1, -1];
  for (let value = 0; value < counts.length; value++) {
    if ((counts[value] as number) < often || counts[value] === 0) continue;
    if (min < 0) min = value;
    max = value;
  }
  return max > min ? { min, max } : null;
}

interface Fit extends RollingRule {
  readonly pairs: number;
  readonly fails: number;
}

/** The step that most pairs take, over the blocks. Cost: rows in the blocks. */
function fitPlace(stream: Stream, place: RollingPlace, blocks: Int32Array): Fit | null {
  const counts = new Int32Array(2 ** place.length);
  let pairs = 0;
  for (let block = 0; block < blocks.length; block += 2) {
    for (let row = blocks[block] as number; row < (blocks[block + 1] as number); row++) {
      const value = rollingAt(stream, row, place);
      counts[value] = (counts[value] as number) + 1;
      pairs++;
    }
  }
  const range = rangeOf(counts, pairs);
  if (!range) return null;
  const modulus = range.max - range.min + 1;
  const steps = new Int32Array(modulus);
  let looked = 0;
  for (let block = 0; block < blocks.length; block += 2) {
    let before = rollingAt(stream, blocks[block] as number, place);
    for (let row = (blocks[block] as number) + 1; row < (blocks[block + 1] as number); row++) {
      const value = rollingAt(stream, row, place);
      const taken = (((value - before) % modulus) + modulus) % modulus;
      steps[taken] = (steps[taken] as number) + 1;
      looked++;
      before = value;
    }
  }
  let best = 1;
  for (let step = 2; step < modulus; step++) if ((steps[step] as number) > (steps[best] as number)) best = step;
  const share = (steps[best] as number) / looked;
  const step = best > modulus / 2 ? best - modulus : best;
  return { place, step, ...range, share, pairs: looked, fails: looked - (steps[best] as number) };
}

/** Bits above the ones that move are none of the value's. */
function withoutIdleBits(fit: Fit): Fit {
  const { place, min, max } = fit;
  let { length } = place;
  while (length > 1 && (((min ^ max) >> (length - 1)) & 1) === 0) length--;
  const mask = (1 << length) - 1;
  return { ...fit, place: { ...place, length }, min: min & mask, max: max & mask };
}

/** The widest run of bits from a restless one up that keeps step as well as any: wider ones fail at wraps. */
function widest(stream: Stream, byte: number, bit: number, blocks: Int32Array): Fit | null {
  const fits: Fit[] = [];
  for (let length = 2; bit + length <= 8; length++) {
    const fit = fitPlace(stream, { byte, bit, length, order: 'little' }, blocks);
    if (fit) fits.push(fit);
  }
  const least = fits.reduce((fails, fit) => Math.min(fails, fit.fails), Infinity);
  const good = fits.filter((fit) => fit.fails <= least + (0.25 * fit.pairs) / 2 ** fit.place.length);
  const last = good[good.length - 1];
  return last ? withoutIdleBits(last) : null;
}

function isBelievable({ place, step, min, max, share }: Fit, rows: number): boolean {
  const modulus = max - min + 1;
  const isSmall = place.length <= SMALL_LENGTH;
  const isWhole = modulus === 2 ** place.length;
  const isPlain = Math.abs(step) === 1 || (place.length <= 4 && isWhole && step % 2 !== 0);
  // A few constants that pages bring in turn may rise by chance: small values must fill their bits.
  const fills = modulus > MODULUS_SMALL || (min <= 1 && max >= 2 ** place.length - 2);
  const turns = rows / modulus;
  const turnsLeast = modulus > 64 ? TURNS_LEAST_BYTE : TURNS_LEAST;
  const shareLeast = isSmall ? SHARE_LEAST_SMALL : SHARE_LEAST;
  return isPlain && fills && modulus >= 3 && modulus !== SECONDS_A_MINUTE && turns >= turnsLeast && share >= shareLeast;
}

/** What other bytes do where a value wraps and where it does not. */
interface Carries {
  readonly wraps: number;
  readonly steps: number;
  /** [stride] changes of each byte at a wrap, and at a step that is none; the value's own bits are masked out. */
  readonly atWrap: Int32Array;
  readonly elsewhere: Int32Array;
}

const ROWS_A_STEP = 50_000;

function* carriesOf(stream: Stream, { place, step, min, max }: RollingRule): Steps<Carries> {
  const { payload, stride, count } = stream;
  const [atWrap, elsewhere] = [new Int32Array(stride), new Int32Array(stride)];
  const mask = place.length < 8 ? ~(((1 << place.length) - 1) << place.bit) : 0;
  const high = place.length > 8 ? place.byte + (place.order === 'little' ? 1 : -1) : -1;
  const end = Math.min(count, Math.max(4096, WRAPS_LOOKED_AT * (max - min + 1)));
  // Every step of a short range: a sample might see one value only. Of a word, a sample at a prime distance.
  const every = place.length > 8 ? 61 : 1;
  let [wraps, steps] = [0, 0];
  let before = rollingAt(stream, 0, place);
  for (let row = 1; row < end; row++) {
    if (row % ROWS_A_STEP === 0) yield;
    const value = rollingAt(stream, row, place);
    const isWrap = step > 0 ? before === max && value === min : before === min && value === max;
    const isStep = value === before + step;
    before = value;
    if (!isWrap && !(isStep && row % every === 0)) continue;
    const into = isWrap ? atWrap : elsewhere;
    if (isWrap) wraps++;
    else steps++;
    for (let byte = 0; byte < stride; byte++) {
      if (byte === high) continue;
      const moved = (payload[row * stride + byte] as number) ^ (payload[(row - 1) * stride + byte] as number);
      if (byte === place.byte ? moved & mask : moved) into[byte] = (into[byte] as number) + 1;
    }
  }
  return { wraps, steps, atWrap, elsewhere };
}

/** Bytes that step when the value wraps and hardly else. */
function carriedInto({ wraps, steps, atWrap, elsewhere }: Carries): number[] {
  if (wraps === 0) return [];
  return [...atWrap.keys()].filter(
    (byte) =>
      (atWrap[byte] as number) >= CARRY_SHARE * wraps &&
      (elsewhere[byte] as number) <= CARRY_ELSEWHERE * Math.max(1, steps),
  );
}

/** A byte that carries into its neighbour: both together, where the pair itself wraps and carries no further. */
function* asWord(stream: Stream, fit: Fit, neighbour: number): Steps<RollingRule | null> {
  const { byte } = fit.place;
  if (fit.place.length !== 8 || Math.abs(neighbour - byte) !== 1 || stream.count < 65_536) return null;
  const place = { byte, bit: 0, length: 16, order: neighbour > byte ? 'little' : 'big' } as const;
  const step = fit.step;
  const rule = { place, step, min: 0, max: 0xffff, share: fit.share };
  const carries = yield* carriesOf(stream, rule);
  return carries.wraps > 0 && carriedInto(carries).length === 0 ? rule : null;
}

/** Every place of a stream whose value rolls, byte by byte. Cost: a sample of the frames, and all of them once for each candidate. */
export function* rollingPlaces(stream: Stream): Steps<RollingRule[]> {
  const rules: RollingRule[] = [];
  if (stream.count < FRAMES_LEAST) return rules;
  const blocks = blocksOf(stream.count);
  for (let byte = 0; byte < stream.stride; byte++) {
    const taken = new Set<number>();
    for (const bit of restlessBits(stream, byte, blocks)) {
      if (taken.has(bit)) continue;
      const fit = widest(stream, byte, bit, blocks);
      yield;
      if (!fit || !isBelievable(fit, stream.count)) continue;
      for (let i = 0; i < fit.place.length; i++) taken.add(bit + i);
      const carried = carriedInto(yield* carriesOf(stream, fit));
      const rule = carried.length === 0 ? fit : yield* asWord(stream, fit, carried[0] as number);
      if (rule) rules.push(rule);
    }
    yield;
  }
  return rules;
}
