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
const sizes = new Int32Array(CLASSES);
const sizesAfter = new Int32Array(CLASSES * CLASSES);
const signs = new Int32Array(4);

function clearTallies(): void {
  stay.fill(0);
  move.fill(0);
  sizes.fill(0);
  sizesAfter.fill(0);
  signs.fill(0);
}

/** Tallies the steps of (word >>> shift) modulo 2^length from row `start` on. */
function tallySteps(word: Uint32Array, joined: Uint8Array, start: number, shift: number, length: number): void {
  const lift = 32 - length;
  let run = 0;
  let lastSize = 0;
  let lastSign = 0;
  for (let row = start + 1; row < word.length; row++) {
    if (joined[row] === 0) continue;
    const step = ((((word[row] as number) >>> shift) - ((word[row - 1] as number) >>> shift)) << lift) >> lift;
    if (step === 0) {
      stay[run]!++;
      if (run < RUNS - 1) run++;
      continue;
    }
    move[run]!++;
    run = 0;
    const sign = step < 0 ? 1 : 0;
    const size = 32 - Math.clz32(sign ? -step : step);
    sizes[size]!++;
    sizesAfter[lastSize * CLASSES + size]!++;
    signs[lastSign * 2 + sign]!++;
    lastSize = size;
    lastSign = sign;
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

function stepCost(length: number): number {
  let remainders = 0;
  let bySize = 0;
  for (let size = 1; size <= length; size++) remainders += (sizes[size] as number) * (size - 1);
  for (let last = 0; last <= length; last++) {
    const at = last * CLASSES;
    bySize += symbolCost(sizesAfter, at + 1, at + length + 1, length);
  }
  const classes = 1 + Math.min(symbolCost(sizes, 1, length + 1, length), bySize);
  if (length === 1) return 0;
  const up = (signs[0] as number) + (signs[2] as number);
  const down = (signs[1] as number) + (signs[3] as number);
  const persistent =
    binaryCost(signs[0] as number, signs[1] as number) + binaryCost(signs[2] as number, signs[3] as number);
  return remainders + classes + 1 + Math.min(binaryCost(up, down), persistent);
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
  clearTallies();
  tallySteps(word, joined, start, shift, length);
  const movement = movementCost();
  const { pairs, moves } = movement;
  const best: SpanCost = { bits: length + movement.bits + stepCost(length), model: 'number', pairs, moves };
  if (length > STATES_BITS_MAX) return best;
  const asStates = movement.bits + statesCost(word, joined, start, shift, length);
  return asStates <= best.bits ? { bits: asStates, model: 'states', pairs, moves } : best;
}
