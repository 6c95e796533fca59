/**
 * Where values begin and end: the division of a payload into spans that makes all its rows cheapest to write down
 * (minimum description length, Rissanen 1978), found exactly by dynamic programming over bytes. A little-endian
 * value leaves a byte through its top bits and enters the next through its bottom bits; a big-endian one the other
 * way round; so the state between two bytes is which end of the next byte is already taken, and both orders are
 * weighed in one search.
 */
import { bitPositions, type ByteOrder, type Piece } from '../frames/bits.ts';
import { pieceOf, type Candidate } from './span-candidate.ts';
import type { SpanCost } from './span-cost.ts';

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

/** Bits to leave a moving bit unexplained: one a row as for noise, with an allowance so that it stays with its value where it can. */
export const leavingCost = (pairs: number): number => LEAVING_BITS + 1.03 * pairs;
/** A single bit of noise is seldom sent; the noisy low bits of a value are common. */
const LEAVING_BITS = 16;

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
