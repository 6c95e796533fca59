/** Every span that a payload may hold, with its price: what its values take to write down, what its place does, and what bits it may not own. */
import { bitPositions, type ByteOrder } from '../frames/bits.ts';
import { openBorders } from './byte-borders.ts';
import { cheapestReading, DECIMAL_BITS_MAX, READ_BITS_MIN, type Readings } from './cheapest-reading.ts';
import { Company } from './company.ts';
import { asFilled } from './filled-cost.ts';
import type { Filled } from './fillings.ts';
import { floatSpans, type FloatSpan } from './float-spans.ts';
import { floatPrice, layoutPrice, stillBeside } from './layout-price.ts';
import { hasBit } from './mask.ts';
import { bitsSet } from './bits-set.ts';
import { heldOnes, onesBeside, type HeldOnes } from './held-ones.ts';
import { neighbourBits, onenessWithin, type NeighbourBits } from './neighbour-bits.ts';
import { suddenRows, type PayloadRows } from './payload-rows.ts';
import { digitGroups, turnsNearZero } from './readings.ts';
import { joinBytes, type Candidate } from './span-candidate.ts';
import { carryEvidence, coinsFrom, coinsOf, doubtOf, owedBySteps } from './span-coins.ts';
import { allowanceOf, SPAN_BITS_MAX, type SpanCost } from './span-cost.ts';
import type { SpanView } from './span-tally.ts';
import type { Steps } from './steps.ts';

const BYTES_MAX = 4;

/** A span that takes this share of its plain width in every row is noise, whatever else is said of it. */
const NOISE_SHARE = 0.985;

function* sizes(bytes: number): Generator<{ lsbByte: number; size: number; order: ByteOrder }> {
  for (let size = 1; size <= Math.min(BYTES_MAX, bytes); size++) {
    for (let lsbByte = 0; lsbByte < bytes; lsbByte++) {
      if (lsbByte + size <= bytes) yield { lsbByte, size, order: 'little' };
      if (size > 1 && lsbByte - size + 1 >= 0) yield { lsbByte, size, order: 'big' };
    }
  }
}

/** Whether the bytes strictly between the ends hold free bits only, with at least one of them moving in each. */
function insideIsFree(usable: Uint8Array, lsbByte: number, size: number, toward: number, free: Uint8Array): boolean {
  for (let i = 1; i < size - 1; i++) {
    const byte = lsbByte + i * toward;
    if (usable[byte] !== 0xff || free[byte] === 0) return false;
  }
  return true;
}

type Borders = ReturnType<typeof openBorders>;

const goesThrough = (borders: Borders, lsbByte: number, size: number, toward: number): boolean => {
  for (let i = 0; i < size - 1; i++) if (!borders(lsbByte + i * toward, toward)) return false;
  return true;
};

/**
 * Every span that begins and ends with a bit that moved, with its cost.
 * usable: [bytes] bits that no other finding holds (still bits included); free: those of them that moved; filled: those that fillings alone moved,
 * where the rows are without fillings.
 */
export function* priceSpans(
  rows: PayloadRows,
  free: Uint8Array,
  usable: Uint8Array,
  filled: Filled | null = null,
): Steps<Candidate[]> {
  const company = new Company(rows);
  const sudden = suddenRows(rows);
  const borders = openBorders(rows, free);
  const coins = coinsOf(rows);
  const neighbours = neighbourBits(rows, free, sudden);
  const ones = heldOnes(rows, free, usable);
  const candidates: Candidate[] = [];
  for (const { lsbByte, size, order } of sizes(rows.bytes)) {
    const toward = order === 'little' ? 1 : -1;
    const msbByte = lsbByte + (size - 1) * toward;
    if (!free[lsbByte] || !free[msbByte] || !insideIsFree(usable, lsbByte, size, toward, free)) continue;
    if (!goesThrough(borders, lsbByte, size, toward)) continue;
    const word = joinBytes(rows, lsbByte, size, order);
    yield (
      rows.count *
      (1 +
        priceWithin({
          rows,
          free,
          usable,
          filled,
          word,
          company,
          sudden,
          coins,
          neighbours,
          ones,
          random: coinsWithin(coins, lsbByte, size, toward),
          strange: new Map(),
          lsbByte,
          msbByte,
          size,
          order,
          candidates,
        }))
    );
  }
  for (const each of yield* floatSpans({ rows, company, sudden, coins }, free, usable)) candidates.push(ofFloat(each));
  return candidates;
}

function ofFloat({ piece, cost }: FloatSpan): Candidate {
  const { lsb, length, order } = piece;
  const positions = bitPositions(piece);
  const bytes = positions.map((at) => at >> 3);
  return {
    order,
    lsb: lsb.byte * 8 + lsb.bit,
    length,
    first: Math.min(...bytes),
    last: Math.max(...bytes),
    lowBit: lsb.bit,
    highBit: (positions.at(-1) as number) & 7,
    cost,
    price: cost.bits + floatPrice(lsb.bit) + allowanceOf(cost),
  };
}

interface Region {
  readonly rows: PayloadRows;
  readonly free: Uint8Array;
  readonly usable: Uint8Array;
  readonly filled: Filled | null;
  readonly word: Uint32Array;
  readonly company: Company;
  readonly sudden: Uint8Array;
  /** [bytes] mask of the payload's bits that turn in half of the rows, and the same of the words. */
  readonly coins: Uint8Array;
  readonly random: number;
  readonly neighbours: NeighbourBits;
  readonly ones: HeldOnes;
  /** Whether bits above coins step by no carries of theirs, by where they begin and how many they are. */
  readonly strange: Map<number, boolean>;
  readonly lsbByte: number;
  readonly msbByte: number;
  readonly size: number;
  readonly order: ByteOrder;
  readonly candidates: Candidate[];
}

/** How many spans were priced. */
function priceWithin(region: Region): number {
  let priced = 0;
  const { free, usable, lsbByte, msbByte, size, word, rows } = region;
  const signs: (boolean | undefined)[] = [];
  for (let low = 0; low < 8; low++) {
    if (!hasBit(free, lsbByte * 8 + low)) continue;
    const lowMask = size === 1 ? 0 : (0xff << low) & 0xff;
    if ((lowMask & ~(usable[lsbByte] as number)) !== 0) continue;
    const digits = 4 * digitGroups(word, low, size * 8);
    for (let high = size === 1 ? low : 0; high < 8; high++) {
      if (!hasBit(free, msbByte * 8 + high)) continue;
      const highMask = (size === 1 ? (0xff << low) & 0xff : 0xff) & ((2 << high) - 1);
      if ((highMask & ~(usable[msbByte] as number)) !== 0) break;
      const length = (size - 1) * 8 + high - low + 1;
      if (length > SPAN_BITS_MAX) continue;
      const hasSign = (): boolean => (signs[high] ??= turnsNearZero(word, rows.joined, (size - 1) * 8 + high));
      const isSigned = length >= READ_BITS_MIN && hasSign();
      const isDecimal = length >= READ_BITS_MIN && length <= DECIMAL_BITS_MAX && digits >= length;
      pushCandidate(region, low, high, length, { isSigned, isDecimal });
      priced++;
    }
  }
  return priced;
}

/** Bits of ciphertext that a quiet neighbour may hide, and their share of a span. */
const CIPHER_BITS_MIN = 12;
const CIPHER_SHARE = 0.75;
/** Coins in a row that a smooth value's low bits seldom are; of fewer, the bits above must step by one for their carries to be told. */
const CIPHER_RUN = 16;

/** Bits that noise would take a row: all of the span's, or those that turn every other row where they are so many that no value is so noisy. */
function noiseBits({ word, random }: Region, { shift, length }: SpanView): number {
  const mask = length + shift >= 32 ? -1 << shift : ((1 << length) - 1) << shift;
  const bits = bitsSet(random & mask);
  return word.length > 0 && bits >= CIPHER_BITS_MIN && bits >= CIPHER_SHARE * length ? bits : length;
}

/** A region's bits, ascending, that turn in half of the rows, as a mask of its words. */
function coinsWithin(coins: Uint8Array, lsbByte: number, size: number, toward: number): number {
  let mask = 0;
  for (let i = 0; i < size; i++) mask |= (coins[lsbByte + i * toward] as number) << (8 * i);
  return mask;
}

/**
 * Whether a span would own coins that its other bits know nothing of: at its top, where it saves nothing on them; or below bits that
 * do not step by their carries.
 */
function ownsStrangeCoins(region: Region, { shift, length }: SpanView, cost: SpanCost): boolean {
  const { word, random, rows, free, coins, lsbByte, order } = region;
  const own = (random >>> shift) & (length === 32 ? -1 : (1 << length) - 1);
  if (own === 0) return false;
  const top = 31 - Math.clz32(own);
  const at = shift + top;
  const toward = order === 'little' ? 1 : -1;
  const lies = (lsbByte + (at >> 3) * toward) * 8 + (at & 7);
  const run = coinsFrom(coins, free, lies, -1, order);
  if (top === length - 1) {
    const isRun = doubtOf(run + coinsFrom(coins, free, lies, 1, order) - 1) > 0;
    return isRun && cost.bits > NOISE_SHARE * bitsSet(own) * cost.pairs;
  }
  const doubt = doubtOf(run);
  if (doubt <= 0) return false;
  const above = length - 1 - top;
  const key = 32 * at + above;
  let isStrange = region.strange.get(key);
  if (isStrange === undefined) {
    const owed = run < CIPHER_RUN ? owedBySteps(word, rows.joined, at + 1, above) : doubt;
    isStrange = owed !== undefined && carryEvidence(word, rows.joined, at + 1, above, run) < Math.min(owed, doubt);
    region.strange.set(key, isStrange);
  }
  return isStrange;
}

/** Of a handful of rows what moves in half of them may be anything. But ciphertext comes in whole bytes, and so many bits of a byte never stay still in so many rows by chance. */
const FEW_PAIRS = 32;
const STILL_COINS_MIN = 16;

/** Whether the bits beside the span, in its bytes, keep too still in these few rows for them to be noise. */
function isAmongStill({ free, usable, lsbByte, msbByte }: Region, { pairs }: SpanCost): boolean {
  if (pairs >= FEW_PAIRS) return false;
  return [lsbByte, msbByte].every((byte) => {
    const still = bitsSet((usable[byte] as number) & ~(free[byte] as number));
    return still * pairs >= STILL_COINS_MIN;
  });
}

function pushCandidate(region: Region, low: number, high: number, length: number, readings: Readings): void {
  const { lsbByte, msbByte, order, rows, word, sudden, company, free, usable } = region;
  const lsb = lsbByte * 8 + low;
  const limit = order === 'little' ? lsb : msbByte * 8;
  const view = { word, joined: rows.joined, sudden, shift: low, length, company, limit };
  const cost = asFilled(cheapestReading(view, readings), region.filled, lsb, length, order);
  const isNoise = cost.pairs > 0 && cost.bits > NOISE_SHARE * noiseBits(region, view) * cost.pairs;
  if (isNoise && !isAmongStill(region, cost)) return;
  if (ownsStrangeCoins(region, view, cost)) return;
  const beside = stillBeside(lsb, msbByte * 8 + high, order, free, usable);
  region.candidates.push({
    order,
    lsb,
    length,
    first: Math.min(lsbByte, msbByte),
    last: Math.max(lsbByte, msbByte),
    lowBit: low,
    highBit: high,
    cost,
    price:
      cost.bits +
      layoutPrice(low, length, cost, beside) +
      allowanceOf(cost) +
      (cost.isFilled ? onesBeside(region.ones, lsb, msbByte * 8 + high, order) : 0) -
      onenessWithin(region.neighbours, lsb, length, order),
  });
}
