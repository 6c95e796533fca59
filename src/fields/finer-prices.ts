/**
 * A second, finer price for what the cheapest division holds side by side. A number is easily taken for several values, as every further one pays for what
 * the price of the whole learns twice; so neighbours, each of them and joined, are priced once more by their courses
 * (`course.ts`), which is too slow for all spans that there are. Bits left as noise below a number may be the low bits of it.
 */
import { bitPositions, nextBit, type ByteOrder } from '../frames/bits.ts';
import { boundBits } from './bounds.ts';
import { readBits } from './carries.ts';
import { cheapestReading, readingsOf } from './cheapest-reading.ts';
import { Company } from './company.ts';
import { hasBit } from './mask.ts';
import { suddenRows, type PayloadRows } from './payload-rows.ts';
import { segment, type SegmentOptions } from './segment.ts';
import { joinBytes, pieceOf, type Candidate } from './span-candidate.ts';
import { COMMON_COINS } from './span-coins.ts';
import type { Steps } from './steps.ts';

type Bits = readonly number[];

/** What has become cheaper may have other neighbours. */
const ROUNDS = 4;
/** Neighbours that are joined. */
const JOINED_MAX = 4;
/** Rows that a finer price reads, as a multiple of the rows: it is that much slower. */
const SLOWNESS = 10;
/** Bits to say that the low bits of a number are as noise. */
const NOISY_BITS = 2;
const COURSE_BITS_MIN = 3;
/** What a bound is said of is so wide at least. */
const NUMBER_BITS_MIN = 4;
/** A flag that a number foretells has moved so often at least, and the number so many times as often: it may be told by the flag itself else. */
const FORETOLD_MOVES = 3;
const OWN_MOVES = 4;

/** Bits that are cheaply left are none that move as noise does. */
const isNoise = ({ leaveBits }: SegmentOptions, at: number): boolean =>
  typeof leaveBits === 'number' || (leaveBits[at] as number) > NOISY_BITS;

const keyOf = (bits: Bits): string => bits.join();

class Prices {
  readonly candidates: Candidate[];
  private readonly places: ReadonlyMap<string, number>;
  private readonly finer = new Set<number>();
  private readonly foretold = new Set<string>();
  private readonly company: Company;
  private readonly sudden: Uint8Array;
  private readonly pairs: number;

  constructor(
    private readonly rows: PayloadRows,
    candidates: readonly Candidate[],
  ) {
    this.candidates = [...candidates];
    this.places = new Map(candidates.map((each, at) => [keyOf(bitPositions(pieceOf(each))), at]));
    this.company = new Company(rows);
    this.sudden = suddenRows(rows);
    this.pairs = rows.joined.reduce((sum, each) => sum + each, 0);
  }

  /** Whether the span has become cheaper. */
  private lower(at: number, bits: number): boolean {
    const held = this.candidates[at] as Candidate;
    if (bits >= held.cost.bits) return false;
    this.candidates[at] = { ...held, cost: { ...held.cost, bits }, price: held.price - held.cost.bits + bits };
    return true;
  }

  /** Prices a span by its course. */
  refine(bits: Bits): boolean {
    const at = this.places.get(keyOf(bits));
    if (at === undefined || this.finer.has(at)) return false;
    this.finer.add(at);
    const { rows, company, sudden } = this;
    const { order, lsb, length, first, last, cost } = this.candidates[at] as Candidate;
    if (length < COURSE_BITS_MIN || cost.isFloat) return false;
    const size = last - first + 1;
    const word = joinBytes(rows, lsb >> 3, size, order);
    const limit = order === 'little' ? lsb : first * 8;
    const view = { word, joined: rows.joined, sudden, shift: lsb & 7, length, company, limit };
    return this.lower(at, cheapestReading(view, readingsOf(view, size), true).bits);
  }

  /** Prices a flag by the number that foretells it. */
  foretell(flag: number, number: Bits): boolean {
    const at = this.places.get(keyOf([flag]));
    const asked = keyOf([flag, ...number]);
    if (at === undefined || this.foretold.has(asked)) return false;
    this.foretold.add(asked);
    const { cost } = this.candidates[at] as Candidate;
    const own = this.candidates[this.places.get(keyOf(number)) ?? -1]?.cost.moves ?? 0;
    if (cost.moves < FORETOLD_MOVES || OWN_MOVES * cost.moves > own) return false;
    return this.lower(
      at,
      boundBits(readBits(this.rows, number), number.length, readBits(this.rows, [flag]), this.rows.joined),
    );
  }

  /** A number whose top or lowest bit is a flag that the rest of it foretells: both are priced apart. */
  partFlag(bits: Bits): boolean {
    let isCheaper = false;
    for (const isTop of [true, false]) {
      const flag = (isTop ? bits.at(-1) : bits[0]) as number;
      let rest = isTop ? bits.slice(0, -1) : bits.slice(1);
      while (rest.length >= NUMBER_BITS_MIN && !this.places.has(keyOf(rest)))
        rest = isTop ? rest.slice(0, -1) : rest.slice(1);
      if (rest.length < NUMBER_BITS_MIN || !this.foretell(flag, rest)) continue;
      this.refine(rest);
      isCheaper = true;
    }
    return isCheaper;
  }

  /** Prices low bits that were left as noise and the span above them as one number; more of them are rather ciphertext. */
  joinNoise(low: Bits, above: Bits): boolean {
    const [at, upper] = [[...low, ...above], above].map((bits) => this.places.get(keyOf(bits)));
    if (at === undefined || upper === undefined || above.length === 1 || low.length > COMMON_COINS) return false;
    const { cost } = this.candidates[upper] as Candidate;
    return this.lower(at, cost.bits + low.length * (this.pairs + 1) + NOISY_BITS);
  }
}

/** The candidates, those cheaper that a finer look makes so. */
export function* withFinerPrices(
  rows: PayloadRows,
  candidates: readonly Candidate[],
  options: SegmentOptions,
): Steps<readonly Candidate[]> {
  const prices = new Prices(rows, candidates);
  for (let round = 0; round < ROUNDS; round++) {
    const division = segment(rows.bytes, prices.candidates, { ...options, unjudged: true });
    const found = division.spans.map((span): Bits => bitPositions(span));
    const held = new Set(found.flat());
    const left = new Set<number>();
    for (let at = 0; at < rows.bytes * 8; at++)
      if (hasBit(options.free, at) && !held.has(at) && isNoise(options, at)) left.add(at);
    const begin = new Map(
      [...found, ...[...left].map((at) => [at])].map((bits): [number, Bits] => [bits[0] as number, bits]),
    );
    let isCheaper = false;
    const numbers = found.filter((bits) => bits.length >= NUMBER_BITS_MIN);
    for (const bits of numbers) {
      yield rows.count;
      if (prices.partFlag(bits)) isCheaper = true;
    }
    for (const order of ['little', 'big'] as ByteOrder[])
      for (const start of begin.values()) {
        let bits = start;
        for (let joined = 0; joined < JOINED_MAX; joined++) {
          yield SLOWNESS * rows.count;
          if (prices.refine(bits)) isCheaper = true;
          const next = begin.get(nextBit(bits.at(-1) as number, 1, order));
          if (!next) break;
          const isLeft = bits.every((at) => left.has(at)) && !left.has(next[0] as number);
          if (isLeft && prices.joinNoise(bits, next)) isCheaper = true;
          bits = [...bits, ...next];
        }
      }
    if (!isCheaper) break;
  }
  return prices.candidates;
}
