/**
 * What one span of payload bits costs to write down, taken as one value: the least over a few models. A number pays
 * for its steps (did it move, how large a step, which way), states pay for each change and the state that follows. Steps
 * are taken modulo the span's width, so that no sign need be known. Leaps to and from all ones, and a
 * leap away from the value held since the start, are "no data", and written down as such.
 */
import { binaryCost, chooseCost, symbolCost } from './code-length.ts';
import { SELDOM_SHARE } from './payload-rows.ts';
import { StepTally } from './step-tally.ts';

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

/** A span in the rows it is read from. */
export interface SpanView {
  /** [rows] the bytes that hold the span, joined to one number. */
  readonly word: Uint32Array;
  /** [rows] as in PayloadRows. */
  readonly joined: Uint8Array;
  /** [rows] 1 where so much moved at once that nothing can be said of what belongs together. */
  readonly sudden: Uint8Array;
  /** Where the span begins in the word. */
  readonly shift: number;
  readonly length: number;
  /** [rows] 1 where a seldom-moving bit in front of the span moved: what moves together is no surprise twice. */
  readonly company: Uint8Array;
  readonly companyRows: number;
}

/** Rows since the last move are told apart up to this many: a value refreshed every tenth frame is then no surprise. */
const RUNS = 16;
const STATES_BITS_MAX = 8;
const STATES_MAX = 16;

const stay = new Int32Array(RUNS);
const move = new Int32Array(RUNS);
/** Moves in company, and leaps to or from all ones. */
const special = { company: 0, fillings: 0, leaving: 0, alone: 0, opposed: 0, same: 0 };

/** Steps from the last value and from a running mean, counted only when the value moved; and from the mean at every row. */
const fromLast = new StepTally();
const fromMean = new StepTally();
const always = new StepTally();
/** A running mean leans 1/2^this toward each new value. */
const LEANING = 2;

/**
 * Tallies the steps of the value. Values are lifted to the top of 32 bits, so that wrapping is what integer
 * arithmetic does, and running means keep fractions below.
 */
function tallySteps({ word, joined, sudden, shift, length, company }: SpanView): void {
  stay.fill(0);
  move.fill(0);
  special.company = special.fillings = special.leaving = 0;
  special.alone = special.opposed = special.same = 0;
  fromLast.clear();
  fromMean.clear();
  always.clear();
  const up = 32 - length - shift;
  const lift = 32 - length;
  const keep = lift === 0 ? -1 : ~((1 << lift) - 1);
  const half = lift === 0 ? 0 : 1 << (lift - 1);
  const withMeans = length > 2;
  const leap = length >= 4 ? 2 ** 29 : Infinity;
  const start = up >= 0 ? afterFilling(word, up, keep, length) : 0;
  let begun = false;
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
    if (value === before) {
      stay[run]!++;
      if (run < RUNS - 1) run++;
      if (withMeans) {
        const off = (value - mean) | 0;
        always.add((off + half) >> lift);
        mean = (mean + (off >> LEANING)) | 0;
      }
      continue;
    }
    move[run]!++;
    run = 0;
    if (company[row] !== 0) special.company++;
    if (sudden[row] === 0) tallyKind(before, value);
    const step = (value - before) | 0;
    const wasOnes = before === keep;
    before = value;
    const isLeap = step > leap || step < -leap;
    if (isLeap && (wasOnes || value === keep || !begun)) {
      special.fillings++;
      if (wasOnes || !begun) special.leaving++;
      begun = true;
      movingMean = mean = value;
      continue;
    }
    begun = true;
    fromLast.add(step >> lift);
    if (!withMeans) continue;
    const off = (value - mean) | 0;
    always.add((off + half) >> lift);
    mean = isLeap ? value : (mean + (off >> LEANING)) | 0;
    const offMoving = (value - movingMean) | 0;
    fromMean.add((offMoving + half) >> lift);
    movingMean = isLeap ? value : (movingMean + (offMoving >> LEANING)) | 0;
  }
}

/** Values this wide may also say "no data" by the lowest signed number. */
const LOWEST_BITS_MIN = 8;

/** The first row behind a start-up filling: all ones, or the top bit alone; 0 where there is none or nothing else. */
function afterFilling(word: Uint32Array, up: number, keep: number, length: number): number {
  if (word.length === 0) return 0;
  const first = ((word[0] as number) << up) & keep;
  const isLowest = length >= LOWEST_BITS_MIN && first === 1 << 31;
  if (first !== keep && !isLowest) return 0;
  let row = 1;
  while (row < word.length && (((word[row] as number) << up) & keep) === first) row++;
  return row < word.length ? row : 0;
}

/** Whether one bit moved alone, or several in opposite ways, or several the same way. */
function tallyKind(before: number, value: number): void {
  const differing = before ^ value;
  if ((differing & (differing - 1)) === 0) special.alone++;
  else if ((differing & value) !== 0 && (differing & before) !== 0) special.opposed++;
  else special.same++;
}

/**
 * Bits in favour of one value over single flags side by side. Going from value to value raises some bits and lowers
 * others; flags mostly change alone, and when together mostly the same way (common practice, no source).
 */
function onenessBits(): number {
  const { alone, opposed, same } = special;
  const bits = OPPOSED_BITS * opposed + SAME_BITS * same + ALONE_BITS * alone;
  return Math.max(-ONENESS_MOST, Math.min(ONENESS_MOST, bits));
}
/** log2 of how often each kind comes in values against how often in flags: 0.15 / 0.02, 0.15 / 0.08, 0.7 / 0.9. */
const OPPOSED_BITS = 2.9;
const SAME_BITS = 0.9;
const ALONE_BITS = -0.36;
const ONENESS_MOST = 24;

interface Movement {
  readonly pairs: number;
  readonly moves: number;
  /** Bits to say when the value moved. */
  readonly bits: number;
}

/** As binaryCost, with a first word on whether the second symbol comes at all: most flags never move without company. */
const seldomCost = (a: number, b: number): number => (b === 0 ? 1 : 1 + binaryCost(a, b));

function movementCost(companyRows: number): Movement {
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
  const together = special.company;
  const alone = Math.max(0, companyRows - together);
  const byCompany = seldomCost(alone, together) + seldomCost(Math.max(0, stays - alone), moves - together);
  return { pairs: stays + moves, moves, bits: 1.6 + Math.min(byRun, binaryCost(stays, moves), byCompany) };
}

/** Bits for leaps to and from all ones. */
function fillingCost(length: number, moves: number): number {
  const { fillings, leaving } = special;
  return fillings === 0 ? 0 : binaryCost(fillings, moves - fillings) + leaving * length;
}

/** Bits to write down a value's course as a number, its first value excluded. */
function courseCost(length: number, movement: Movement): number {
  const fillings = fillingCost(length, movement.moves);
  const moving = movement.bits + fromLast.cost(length);
  if (length <= 2) return moving + fillings;
  return 1.6 + fillings + Math.min(moving, movement.bits + fromMean.cost(length), always.cost(length));
}

const rank = new Int16Array(1 << STATES_BITS_MAX);
const arrivals = new Int32Array(STATES_MAX * STATES_MAX);
const arrivalsAll = new Int32Array(STATES_MAX);

/** Bits to name the states and where each change leads; Infinity with too many states. */
function statesCost({ word, joined, shift, length }: SpanView): number {
  const mask = (1 << length) - 1;
  rank.fill(-1, 0, mask + 1);
  arrivals.fill(0);
  arrivalsAll.fill(0);
  let states = 0;
  let last = -1;
  for (let row = 0; row < word.length; row++) {
    const value = ((word[row] as number) >>> shift) & mask;
    if (rank[value] === -1) {
      if (states === STATES_MAX) return Infinity;
      rank[value] = states++;
    }
    const state = rank[value] as number;
    if (row > 0 && joined[row] !== 0 && state !== last) {
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

/** The cheapest of the models for one span. Cost linear in rows. */
export function spanCost(view: SpanView): SpanCost {
  const { length } = view;
  tallySteps(view);
  const movement = movementCost(view.companyRows);
  const { pairs, moves } = movement;
  const oneness = length > 1 && moves < SELDOM_SHARE * pairs ? onenessBits() : 0;
  const best: SpanCost = { bits: length + courseCost(length, movement) - oneness, model: 'number', pairs, moves };
  if (length > STATES_BITS_MAX) return best;
  const asStates = movement.bits + statesCost(view) - oneness;
  return asStates <= best.bits || length === 1 ? { bits: asStates, model: 'states', pairs, moves } : best;
}
