/**
 * Where values begin and end: the division of a payload into spans that makes all its rows cheapest to write down
 * (minimum description length, Rissanen 1978), found exactly by dynamic programming over bytes. A little-endian
 * value leaves a byte through its top bits and enters the next through its bottom bits; a big-endian one the other
 * way round; so the state between two bytes is which end of the next byte is already taken, and both orders are
 * weighed in one search.
 */
import { bitPositions, type ByteOrder, type Piece } from '../frames/bits.ts';
import { openBorders } from './byte-borders.ts';
import { Company } from './company.ts';
import { floatSpans, type FloatSpan } from './float-spans.ts';
import { floatPrice, layoutPrice, stillBeside } from './layout-price.ts';
import { hasBit } from './mask.ts';
import { suddenRows, type PayloadRows } from './payload-rows.ts';
import { decimalBits, digitGroups, fromDigits, fromMagnitude, READING_BITS, turnsNearZero } from './readings.ts';
import type { Steps } from './steps.ts';
import { carryEvidence, coinsFrom, coinsOf, doubtOf } from './span-coins.ts';
import { allowanceOf, SPAN_BITS_MAX, spanCost, type SpanCost } from './span-cost.ts';
import type { SpanView } from './span-tally.ts';

const BYTES_MAX = 4;

/** As several spans or fewer bits, as part of a longer one, as parts of others, as the same bits in the other order, or not at all. */
export type Rival = 'cut' | 'longer' | 'shifted' | 'turned' | 'left';

export interface Span extends Piece {
  readonly cost: SpanCost;
  /** Bits that the whole payload would cost more if this span were not allowed. */
  readonly margin: number;
  /** For a span over several bytes: the same, if it were only allowed in the other order. */
  readonly orderMargin: number;
  /** How the cheapest division without this span reads its bits. */
  readonly rival: Rival;
  /** How many other spans end at the bit below it or begin at the bit above it: with none, its ends are what never moved. */
  readonly touching: number;
}

export interface SegmentOptions {
  /** [bytes] mask of bits that may belong to a span: they move and nothing else has claimed them. */
  readonly free: Uint8Array;
  /** Bits that a byte-crossing span costs extra in an order that its bus seldom uses. */
  readonly orderBits: Readonly<Record<ByteOrder, number>>;
  /** Spans that a person refused. */
  readonly refused: readonly Piece[];
  /** Bits that it costs to leave a moving bit unexplained: one a row, as for noise; or [bytes * 8] by bit. */
  readonly leaveBits: number | Float64Array;
  /** Whether margins are left at zero, which take most of the time. */
  readonly unjudged?: boolean;
}

export interface Segmentation {
  readonly spans: readonly Span[];
  /** Bits for all rows, the spans' own prices included. */
  readonly bits: number;
}

interface Candidate {
  readonly order: ByteOrder;
  readonly lsb: number;
  readonly length: number;
  /** First and last byte, ascending, whatever the order. */
  readonly first: number;
  readonly last: number;
  /** Lowest and highest bit taken in the byte where the span is entered from the left or ends: see `edges`. */
  readonly lowBit: number;
  readonly highBit: number;
  readonly cost: SpanCost;
  /** cost.bits plus the price of the span itself. */
  readonly price: number;
}

/** Where a candidate lies, as the map says it. */
export const pieceOf = ({ lsb, length, order }: Candidate): Piece => ({
  lsb: { byte: lsb >> 3, bit: lsb & 7 },
  length,
  order,
});

/** [count] bytes `lsbByte` and on joined to one number, in the direction of the order. */
export function joinBytes(rows: PayloadRows, lsbByte: number, size: number, order: ByteOrder): Uint32Array {
  const { bytes, data, count } = rows;
  const word = new Uint32Array(count);
  const toward = order === 'little' ? 1 : -1;
  for (let row = 0, at = lsbByte; row < count; row++, at += bytes) {
    let value = 0;
    for (let i = size - 1; i >= 0; i--) value = (value << 8) | (data[at + i * toward] as number);
    word[row] = value;
  }
  return word;
}

/** Bits to leave a moving bit unexplained: one a row as for noise, with an allowance so that it stays with its value where it can. */
export const leavingCost = (pairs: number): number => LEAVING_BITS + 1.03 * pairs;
/** A single bit of noise is seldom sent; the noisy low bits of a value are common. */
const LEAVING_BITS = 16;

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
 * usable: [bytes] bits that no other finding holds (still bits included); free: those of them that moved.
 */
export function* priceSpans(rows: PayloadRows, free: Uint8Array, usable: Uint8Array): Steps<Candidate[]> {
  const company = new Company(rows);
  const sudden = suddenRows(rows);
  const borders = openBorders(rows, free);
  const coins = coinsOf(rows);
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
          word,
          company,
          sudden,
          coins,
          random: coinsWithin(coins, lsbByte, size, toward),
          evidence: new Map(),
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
  readonly word: Uint32Array;
  readonly company: Company;
  readonly sudden: Uint8Array;
  /** [bytes] mask of the payload's bits that turn in half of the rows, and the same of the words. */
  readonly coins: Uint8Array;
  readonly random: number;
  /** Whether bits step by the carries of those below, by where they begin and how many they are. */
  readonly evidence: Map<number, number>;
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

/** Only values this wide are read in other ways. */
const READ_BITS_MIN = 5;
const DECIMAL_BITS_MAX = 28;

interface Readings {
  readonly isSigned: boolean;
  readonly isDecimal: boolean;
}

/** Whether a span of a word of `size` bytes may be read so. */
export function readingsOf({ word, joined, shift, length }: SpanView, size: number): Readings {
  const isWide = length >= READ_BITS_MIN;
  return {
    isSigned: isWide && turnsNearZero(word, joined, shift + length - 1),
    isDecimal: isWide && length <= DECIMAL_BITS_MAX && 4 * digitGroups(word, shift, size * 8) >= length,
  };
}

/** The cheapest reading of a span; isFiner: as for `spanCost`. */
export function cheapestReading(view: SpanView, { isSigned, isDecimal }: Readings, isFiner = false): SpanCost {
  const { word, shift, length } = view;
  let best = spanCost(view, isFiner);
  const consider = (other: SpanCost): void => {
    const bits = other.bits + READING_BITS;
    if (bits < best.bits) best = { ...other, bits };
  };
  if (isSigned) consider(spanCost({ ...view, word: fromMagnitude(word, shift, length) }, isFiner));
  if (isDecimal)
    consider(
      spanCost({ ...view, word: fromDigits(word, shift, length), shift: 0, length: decimalBits(length) }, isFiner),
    );
  return best;
}

/** Bits of ciphertext that a quiet neighbour may hide, and their share of a span. */
const CIPHER_BITS_MIN = 12;
const CIPHER_SHARE = 0.75;
/** Coins in a row that a smooth value's low bits seldom are; fewer of them may step too fast for their carries to be told. */
const CIPHER_RUN = 16;

/** Bits that noise would take a row: all of the span's, or those that turn every other row where they are so many that no value is so noisy. */
function noiseBits({ word, random }: Region, { shift, length }: SpanView): number {
  const mask = length + shift >= 32 ? -1 << shift : ((1 << length) - 1) << shift;
  const bits = countBits(random & mask);
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
    return isRun && cost.bits > NOISE_SHARE * countBits(own) * cost.pairs;
  }
  const doubt = doubtOf(run);
  if (run < CIPHER_RUN || doubt <= 0) return false;
  const above = length - 1 - top;
  const key = 32 * at + above;
  let evidence = region.evidence.get(key);
  if (evidence === undefined) {
    evidence = carryEvidence(word, rows.joined, at + 1, above, run);
    region.evidence.set(key, evidence);
  }
  return evidence < doubt;
}

function countBits(mask: number): number {
  let bits = 0;
  for (let rest = mask; rest !== 0; rest &= rest - 1) bits++;
  return bits;
}

function pushCandidate(region: Region, low: number, high: number, length: number, readings: Readings): void {
  const { lsbByte, msbByte, order, rows, word, sudden, company, free, usable } = region;
  const lsb = lsbByte * 8 + low;
  const limit = order === 'little' ? lsb : msbByte * 8;
  const view = { word, joined: rows.joined, sudden, shift: low, length, company, limit };
  const cost = cheapestReading(view, readings);
  if (cost.pairs > 0 && cost.bits > NOISE_SHARE * noiseBits(region, view) * cost.pairs) return;
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
    price: cost.bits + layoutPrice(low, length, cost, beside) + allowanceOf(cost),
  });
}

const samePlace = (candidate: Candidate, piece: Piece): boolean =>
  candidate.lsb === piece.lsb.byte * 8 + piece.lsb.bit &&
  candidate.length === piece.length &&
  (candidate.order === piece.order || candidate.first === candidate.last);

/** What is taken of a byte when the search arrives there: nothing, its bits 0..edge, or its bits edge..7. */
const NONE = 0;
const bottomState = (edge: number): number => 1 + edge;
const topState = (edge: number): number => 9 + edge;
const STATES = 17;

interface Arrival {
  readonly bits: number;
  readonly from: number;
  readonly spans: readonly Candidate[];
}

interface Layout {
  readonly bytes: number;
  /** [byte] spans inside one byte. */
  readonly inside: readonly (readonly Candidate[])[];
  /** [byte] spans that go on into later bytes. */
  readonly crossing: readonly (readonly Candidate[])[];
}

function layOut(bytes: number, candidates: readonly Candidate[]): Layout {
  const inside: Candidate[][] = Array.from({ length: bytes }, () => []);
  const crossing: Candidate[][] = Array.from({ length: bytes }, () => []);
  for (const candidate of candidates)
    (candidate.first === candidate.last ? inside : crossing)[candidate.first]!.push(candidate);
  return { bytes, inside, crossing };
}

interface Within {
  readonly bits: number;
  readonly spans: readonly Candidate[];
}

/** [9][9] cheapest division of bits low..high-1 of one byte; still or claimed bits cost nothing, moving ones their noise. */
function divideByte(
  free: number,
  inside: readonly Candidate[],
  leaveBits: (bit: number) => number,
  allowed: (c: Candidate) => boolean,
): Within[][] {
  const table: Within[][] = [];
  for (let low = 0; low <= 8; low++) {
    const best: Within[] = Array.from({ length: 9 }, () => ({ bits: Infinity, spans: [] }));
    best[low] = { bits: 0, spans: [] };
    for (let bit = low; bit < 8; bit++) {
      const here = best[bit] as Within;
      if (here.bits === Infinity) continue;
      const left = here.bits + (((free >> bit) & 1) === 0 ? 0 : leaveBits(bit));
      if (left < (best[bit + 1] as Within).bits) best[bit + 1] = { bits: left, spans: here.spans };
      for (const span of inside) {
        if (span.lowBit !== bit || !allowed(span)) continue;
        const bits = here.bits + span.price;
        if (bits < (best[span.highBit + 1] as Within).bits)
          best[span.highBit + 1] = { bits, spans: [...here.spans, span] };
      }
    }
    table.push(best);
  }
  return table;
}

interface Search {
  readonly layout: Layout;
  readonly free: Uint8Array;
  readonly within: Within[][][];
  readonly extra: (candidate: Candidate) => number;
}

const openRegion = (state: number): readonly [number, number] =>
  state === NONE ? [0, 8] : state < 9 ? [state, 8] : [0, state - 9];

function relax(best: (Arrival | undefined)[][], byte: number, state: number, arrival: Arrival): void {
  const row = best[byte] as (Arrival | undefined)[];
  const held = row[state];
  if (!held || arrival.bits < held.bits) row[state] = arrival;
}

function advance(search: Search, best: (Arrival | undefined)[][], byte: number, state: number, here: Arrival): void {
  const within = search.within[byte] as Within[][];
  const [low, high] = openRegion(state);
  const go = (toByte: number, toState: number, inner: Within, crossing: Candidate | null): void => {
    if (inner.bits === Infinity) return;
    const bits = here.bits + inner.bits + (crossing ? crossing.price + search.extra(crossing) : 0);
    const held = best[toByte]?.[toState];
    if (held && held.bits <= bits) return;
    relax(best, toByte, toState, {
      bits,
      from: byte,
      spans: [...here.spans, ...inner.spans, ...(crossing ? [crossing] : [])],
    });
  };
  go(byte + 1, NONE, (within[low] as Within[])[high] as Within, null);
  for (const span of search.layout.crossing[byte] as readonly Candidate[]) {
    if (search.extra(span) === Infinity) continue;
    if (span.order === 'little') {
      if (high !== 8 || span.lowBit < low) continue;
      go(span.last, bottomState(span.highBit), (within[low] as Within[])[span.lowBit] as Within, span);
    } else {
      if (low !== 0 || span.highBit >= high) continue;
      go(span.last, topState(span.lowBit), (within[span.highBit + 1] as Within[])[high] as Within, span);
    }
  }
}

/** The cheapest path through bytes from..to (whole bytes, nothing taken at either end). */
function cheapest(search: Search, from: number, to: number): Arrival {
  const best: (Arrival | undefined)[][] = Array.from({ length: to + 1 }, () => new Array<Arrival | undefined>(STATES));
  relax(best, from, NONE, { bits: 0, from, spans: [] });
  for (let byte = from; byte < to; byte++) {
    for (let state = 0; state < STATES; state++) {
      const here = best[byte]?.[state];
      if (here) advance(search, best, byte, state, here);
    }
  }
  return best[to]?.[NONE] ?? { bits: Infinity, from, spans: [] };
}

function makeSearch(
  layout: Layout,
  options: SegmentOptions,
  forbidden: (candidate: Candidate) => boolean,
  bytesFrom = 0,
  bytesTo = layout.bytes,
): Search {
  const within: Within[][][] = [];
  const { leaveBits } = options;
  for (let byte = bytesFrom; byte < bytesTo; byte++) {
    within[byte] = divideByte(
      options.free[byte] as number,
      layout.inside[byte] as Candidate[],
      (bit) => (typeof leaveBits === 'number' ? leaveBits : (leaveBits[byte * 8 + bit] as number)),
      (c) => !forbidden(c),
    );
  }
  const extra = (c: Candidate): number => (c.last >= bytesTo || forbidden(c) ? Infinity : options.orderBits[c.order]);
  return { layout, free: options.free, within, extra };
}

/** How far to each side of a span the rest is divided anew to see what would replace it. */
const NEIGHBOURHOOD = 5;

function replacement(
  layout: Layout,
  options: SegmentOptions,
  around: readonly [number, number],
  forbidden: (candidate: Candidate) => boolean,
): Arrival {
  return cheapest(makeSearch(layout, options, forbidden, ...around), ...around);
}

/** Whole bytes around a span such that no chosen span crosses their ends. */
function neighbourhood(span: Candidate, chosen: readonly Candidate[], bytes: number): readonly [number, number] {
  let from = Math.max(0, span.first - NEIGHBOURHOOD);
  let to = Math.min(bytes, span.last + 1 + NEIGHBOURHOOD);
  for (let settled = false; !settled;) {
    settled = true;
    for (const other of chosen) {
      if (other.first < from && other.last >= from) [from, settled] = [other.first, false];
      if (other.first < to && other.last >= to) [to, settled] = [other.last + 1, false];
    }
  }
  return [from, to];
}

const topBit = ({ order, first, last, highBit }: Candidate): number =>
  (order === 'little' ? last : first) * 8 + highBit;

function countTouching(span: Candidate, chosen: readonly Candidate[]): number {
  const beside = [span.lsb - 1, topBit(span) + 1];
  const holds = (other: Candidate): boolean =>
    bitPositions(pieceOf(other)).some((at) => at === beside[0] || at === beside[1]);
  return chosen.filter((other) => other !== span && holds(other)).length;
}

function rivalOf(span: Candidate, others: readonly Candidate[]): Rival {
  const own = new Set(bitPositions(pieceOf(span)));
  const over = others.map((other) => bitPositions(pieceOf(other))).filter((bits) => bits.some((at) => own.has(at)));
  const shared = over.map((bits) => bits.filter((at) => own.has(at)).length);
  const whole = over.find((_, index) => shared[index] === own.size);
  if (whole) return whole.length === own.size ? 'turned' : 'longer';
  if (over.length === 0) return 'left';
  return over.every((bits, index) => bits.length === shared[index]) ? 'cut' : 'shifted';
}

const spanOf = (span: Candidate, judged: Pick<Span, 'margin' | 'orderMargin' | 'rival' | 'touching'>): Span => ({
  ...pieceOf(span),
  cost: span.cost,
  ...judged,
});

const UNJUDGED = { margin: 0, orderMargin: 0, rival: 'left', touching: 0 } as const;

function judge(span: Candidate, chosen: readonly Candidate[], layout: Layout, options: SegmentOptions): Span {
  const refused = (c: Candidate): boolean => options.refused.some((piece) => samePlace(c, piece));
  const around = neighbourhood(span, chosen, layout.bytes);
  const cost = (forbidden: (c: Candidate) => boolean): number =>
    replacement(layout, options, around, (c) => forbidden(c) || refused(c)).bits;
  const held = cost(() => false);
  const without = replacement(layout, options, around, (c) => c === span || refused(c));
  const crosses = span.first !== span.last;
  const overlaps = (c: Candidate): boolean => c.first <= span.last && span.first <= c.last && c.first !== c.last;
  const otherOrder = crosses ? cost((c) => c.order === span.order && overlaps(c)) : Infinity;
  return spanOf(span, {
    margin: without.bits - held,
    orderMargin: otherOrder - held,
    rival: rivalOf(span, without.spans),
    touching: countTouching(span, chosen),
  });
}

/** Divides a payload into spans, given the price of each candidate. */
export function segment(bytes: number, candidates: readonly Candidate[], options: SegmentOptions): Segmentation {
  const layout = layOut(bytes, candidates);
  const refused = (c: Candidate): boolean => options.refused.some((piece) => samePlace(c, piece));
  const best = cheapest(makeSearch(layout, options, refused), 0, bytes);
  const spans = best.spans.map((span) =>
    options.unjudged ? spanOf(span, UNJUDGED) : judge(span, best.spans, layout, options),
  );
  return { spans, bits: best.bits };
}

export type { Candidate };
