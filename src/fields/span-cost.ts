/**
 * What one span of payload bits costs to write down, taken as one value: the least over a few models. A number pays
 * for its steps (did it move, how large a step, which way), states pay for each change and the state that follows. Steps are taken modulo the span's width, so that no sign need be known.
 * The split of a step into size class and remainder follows the Elias gamma idea (IEEE Trans. Inf. Theory 21, 1975).
 */
import { binaryCost, chooseCost, symbolCost } from './code-length.ts';

export const SPAN_BITS_MAX = 32;
export type SpanModel = 'number' | 'states';
export interface SpanCost {
  /** Bits, prior of the span itself excluded. */
  readonly bits: number;
  readonly model: SpanModel;
  /** Pairs of rows that were written down. */
  readonly pairs: number;
  /** Pairs between which the value moved. */
  readonly moves: number;
}

/** Rows since the last move are told apart up to this many: a value refreshed every tenth frame is then no surprise. */
const RUNS = 16;
const CLASSES = 33;
const STATES_BITS_MAX = 8;
const STATES_MAX = 16;

const stay = new Int32Array(RUNS);
const move = new Int32Array(RUNS);

/** How the steps of one predictor are spread. */
class StepTally {
  readonly sizes = new Int32Array(CLASSES);
  readonly sizesAfter = new Int32Array(CLASSES * CLASSES);
  readonly signs = new Int32Array(4);
  /** The two bits below the leading one of a step, by size class: so finely is the shape of small and large steps learnt. */
  readonly leads = new Int32Array(CLASSES * 4);
  private lastSize = 0;
  private lastSign = 0;

  clear(): void {
    this.sizes.fill(0);
    this.sizesAfter.fill(0);
    this.lastSize = 0;
    this.signs.fill(0);
    this.leads.fill(0);
    this.lastSign = 0;
  }

  add(step: number): void {
    const sign = step < 0 ? 1 : 0;
    const distance = sign ? -step : step;
    const size = distance === 0 ? 0 : 32 - Math.clz32(distance);
    this.sizes[size]!++;
    this.sizesAfter[this.lastSize * CLASSES + size]!++;
    this.lastSize = size;
    if (size === 0) return;
    if (size > 1) this.leads[size * 4 + (size === 2 ? distance & 1 : (distance >>> (size - 3)) & 3)]!++;
    this.signs[this.lastSign * 2 + sign]!++;
    this.lastSign = sign;
  }

  /** Bits for all steps added, of a value `length` bits wide. */
  cost(length: number): number {
    if (length === 1) return 0;
    let bits = 2;
    let bySize = 0;
    for (let size = 2; size <= length; size++) {
      bits += symbolCost(this.leads, size * 4, size * 4 + 4, size === 2 ? 2 : 4);
      bits += (this.sizes[size] as number) * Math.max(0, size - 3);
    }
    for (let last = 0; last <= length; last++) {
      bySize += symbolCost(this.sizesAfter, last * CLASSES, last * CLASSES + length + 1, length + 1);
    }
    return bits + Math.min(symbolCost(this.sizes, 0, length + 1, length + 1), bySize) + this.signCost();
  }

  private signCost(): number {
    const [a, b, c, d] = this.signs as unknown as [number, number, number, number];
    return Math.min(binaryCost(a + c, b + d), binaryCost(a, b) + binaryCost(c, d));
  }
}

/** Steps from the last value and from a running mean, counted only when the value moved; and from the mean at every row. */
const fromLast = new StepTally();
const fromMean = new StepTally();
const always = new StepTally();
/** A running mean leans 1/2^this toward each new value. */
const LEANING = 2;

/**
 * Tallies the steps of (word >>> shift) modulo 2^length from row `start` on. Values are lifted to the top of 32 bits,
 * so that wrapping is what integer arithmetic does, and running means keep fractions below.
 */
function tallySteps(word: Uint32Array, joined: Uint8Array, start: number, shift: number, length: number): void {
  stay.fill(0);
  move.fill(0);
  for (const tally of [fromLast, fromMean, always]) tally.clear();
  const up = 32 - length - shift;
  const lift = 32 - length;
  const keep = lift === 0 ? -1 : ~((1 << lift) - 1);
  const half = lift === 0 ? 0 : 1 << (lift - 1);
  const withMeans = length > 2;
  let run = 0;
  let before = 0;
  let movingMean = 0;
  let mean = 0;
  for (let row = start; row < word.length; row++) {
    const raw = word[row] as number;
    const value = (up >= 0 ? raw << up : raw >>> -up) & keep;
    if (row === start || joined[row] === 0) {
      if (row === start) movingMean = mean = value;
      before = value;
      continue;
    }
    if (withMeans) {
      const off = (value - mean) | 0;
      always.add((off + half) >> lift);
      mean = (mean + (off >> LEANING)) | 0;
    }
    if (value === before) {
      stay[run]!++;
      if (run < RUNS - 1) run++;
      continue;
    }
    move[run]!++;
    run = 0;
    fromLast.add((value - before) >> lift);
    before = value;
    if (!withMeans) continue;
    const off = (value - movingMean) | 0;
    fromMean.add((off + half) >> lift);
    movingMean = (movingMean + (off >> LEANING)) | 0;
  }
}

interface Movement {
  readonly pairs: number;
  readonly moves: number;
  /** Bits to say when the value moved. */
  readonly bits: number;
}

function movementCost(): Movement {
  let stays = 0;
  let moves = 0;
  let byRun = 0;
  for (let run = 0; run < RUNS; run++) {
    const s = stay[run] as number;
    const m = move[run] as number;
    stays += s;
    moves += m;
    if (s + m > 0) byRun += binaryCost(s, m);
  }
  return { pairs: stays + moves, moves, bits: 1 + Math.min(byRun, binaryCost(stays, moves)) };
}

/** Bits to write down a value's course as a number, its first value excluded. */
function courseCost(length: number, movement: Movement): number {
  const moving = movement.bits + fromLast.cost(length);
  if (length <= 2) return moving;
  return 1.6 + Math.min(moving, movement.bits + fromMean.cost(length), always.cost(length));
}

const rank = new Int16Array(1 << STATES_BITS_MAX);
const arrivals = new Int32Array(STATES_MAX * STATES_MAX);
const arrivalsAll = new Int32Array(STATES_MAX);

/** Bits to name the states and where each change leads; Infinity with too many states. */
function statesCost(word: Uint32Array, joined: Uint8Array, start: number, shift: number, length: number): number {
  const mask = (1 << length) - 1;
  rank.fill(-1, 0, mask + 1);
  arrivals.fill(0);
  arrivalsAll.fill(0);
  let states = 0;
  let last = -1;
  for (let row = start; row < word.length; row++) {
    const value = ((word[row] as number) >>> shift) & mask;
    if (rank[value] === -1) {
      if (states === STATES_MAX) return Infinity;
      rank[value] = states++;
    }
    const state = rank[value] as number;
    if (row > start && joined[row] !== 0 && state !== last) {
      arrivals[last * STATES_MAX + state]!++;
      arrivalsAll[state]!++;
    }
    last = state;
  }
  const naming = chooseCost(2 ** length, states);
  if (states <= 2) return naming;
  let conditional = 0;
  for (let from = 0; from < states; from++) {
    conditional += symbolCost(arrivals, from * STATES_MAX, from * STATES_MAX + states, states - 1);
  }
  return naming + 1 + Math.min(conditional, symbolCost(arrivalsAll, 0, states, states));
}

/**
 * The cheapest of the models for one span.
 * word: [rows] the bytes that hold the span, joined to one number; shift: where the span begins in it;
 * start: first row that counts; joined: [rows] as in PayloadRows. Cost linear in rows.
 */
export function spanCost(
  word: Uint32Array,
  joined: Uint8Array,
  start: number,
  shift: number,
  length: number,
): SpanCost {
  tallySteps(word, joined, start, shift, length);
  const movement = movementCost();
  const { pairs, moves } = movement;
  const best: SpanCost = { bits: length + courseCost(length, movement), model: 'number', pairs, moves };
  if (length > STATES_BITS_MAX) return best;
  const asStates = movement.bits + statesCost(word, joined, start, shift, length);
  return asStates <= best.bits ? { bits: asStates, model: 'states', pairs, moves } : best;
}
