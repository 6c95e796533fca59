/**
 * What one span of payload bits costs to write down, taken as one value: the least over a few models. A number pays
 * for its steps (did it move, how large a step, which way), from the last value, from where its last step would have led
 * again, or from a mean; states pay for each change and the state that follows. Steps are taken modulo the span's width, so
 * that no sign need be known. Leaps to and from all ones, and a leap away from the value held since the start, are "no
 * data", and written down as such.
 */
import type { Company } from './company.ts';
import { binaryCost, chooseCost, seldomCost, symbolCost } from './code-length.ts';
import { courseCostOf, type CourseCost } from './course-readings.ts';
import { SELDOM_SHARE } from './payload-rows.ts';
import {
  fromLast,
  fromMean,
  fromSlope,
  always,
  move,
  RUNS,
  shared,
  special,
  stay,
  tallySteps,
  type SpanView,
} from './span-tally.ts';
import { onenessOfNumber, onenessOfStates } from './transitions.ts';

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
  /** It was all ones until its module woke: its whole width has been seen. */
  readonly isFilled: boolean;
  /** Read as a binary floating-point number. */
  readonly isFloat?: boolean;
}

/**
 * No model fits a real value exactly; each move may be this many bits dearer than it need be. Without the allowance
 * the noisy low bits of a value would be split off to save the last percent, as several spans pay for one move.
 */
const INEXACT_BITS = 0.2;
/** What moves seldom has no noise, and flags that one switch throws would pay for the same moves several times. */
export const allowanceOf = ({ moves, pairs }: Pick<SpanCost, 'moves' | 'pairs'>): number =>
  moves < SELDOM_SHARE * pairs ? 0 : INEXACT_BITS * moves;

const STATES_BITS_MAX = 8;
const STATES_MAX = 16;

/** A single bit has no value to spare for "no data": one that falls where a module wakes is rather part of a wider value. */
const WOKEN_BITS = 4;

interface Movement {
  readonly pairs: number;
  readonly moves: number;
  /** Bits to say when the value moved. */
  readonly bits: number;
}

/** With a first word on whether the second symbol comes at all: most flags never move without company. */
const ifEverCost = (a: number, b: number): number => (b === 0 ? 1 : 1 + seldomCost(a, b));

/** The same told when one bit in front moved: the nearer it is, the fewer bits name it. */
function cheapestCompanion(company: Company, limit: number, together: (rows: number, times: number) => number): number {
  let least = Infinity;
  let rank = 0;
  for (let at = limit - 1; at >= 0; at--) {
    const rows = company.times[at] as number;
    if (rows === 0) continue;
    rank++;
    const times = shared[at] as number;
    if (times > 0) least = Math.min(least, NAMING_BITS * (1 + Math.log2(rank)) + together(rows, times));
  }
  return least;
}
/** The best of several is chosen, which makes any of them look better than it is. */
const NAMING_BITS = 2;

function movementCost(company: Company, limit: number): Movement {
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
  const together = (rows: number, times: number): number => {
    const alone = Math.max(0, rows - times);
    return ifEverCost(alone, times) + ifEverCost(Math.max(0, stays - alone), moves - times);
  };
  const byAll = together(company.rowsBefore(limit), special.company);
  const byCompany = Math.min(byAll, cheapestCompanion(company, limit, together));
  return { pairs: stays + moves, moves, bits: 1.6 + Math.min(byRun, seldomCost(stays, moves), byCompany) };
}

/** Bits to say that a value begins with "no data" and leaps away from it by its first move. */
const BEGINNING_BITS = 1;

/** Leaps to and from "no data" but for the one that it begins with. */
const laterFillings = (): number => special.fillings - (special.beginning > 0 ? 1 : 0);

/** Bits for leaps to and from "no data". */
function fillingCost(moves: number): number {
  const { fillings, leaving } = special;
  if (fillings === 0) return 0;
  const others = laterFillings();
  const later = others === 0 ? 0 : binaryCost(others, moves - fillings);
  return Math.min(binaryCost(fillings, moves - fillings), BEGINNING_BITS + later) + leaving;
}

/** Bits to say when the value leapt to or from "no data", where its other steps are written down without saying when it moved. */
function leapMoments(pairs: number): number {
  const { fillings, beginning } = special;
  if (fillings === 0) return 0;
  const others = laterFillings();
  const later = others === 0 ? 0 : seldomCost(pairs - others, others);
  return beginning > 0 ? Math.min(seldomCost(pairs - fillings, fillings), beginning + later) : later;
}

/** Bits to write down a value's course as a number, its first value excluded. finer: by `course.ts` too. */
function courseCost(length: number, movement: Movement, finer: CourseCost | null): number {
  const fillings = fillingCost(movement.moves);
  const moving = movement.bits + (length === 1 ? 0 : Math.min(fromLast.fixedCost(length), fromLast.cost(length)));
  if (length <= 2) return moving + fillings;
  return (
    2 +
    fillings +
    Math.min(
      moving,
      movement.bits + fromMean.cost(length),
      movement.bits + fromSlope.cost(length),
      always.cost(length) + leapMoments(movement.pairs),
      finer ? movement.bits + finer.perMove : Infinity,
      finer ? finer.perRow + leapMoments(movement.pairs) : Infinity,
    )
  );
}

const rank = new Int16Array(1 << STATES_BITS_MAX);
const arrivals = new Int32Array(STATES_MAX * STATES_MAX);
const arrivalsAll = new Int32Array(STATES_MAX);

/** Whether a pair of bits, both set until its module woke, has since been a flag. */
const isSpareFlag = (length: number, states: number): boolean =>
  length === 2 && special.wakes && states <= 2 && rank[0] !== -1 && rank[3] === -1 && rank[2] === -1;

/** Bits to name the states from a row on and where each change leads; Infinity with too many states. */
function statesCost({ word, joined, shift, length }: SpanView, from: number): number {
  const mask = (1 << length) - 1;
  rank.fill(-1, 0, mask + 1);
  arrivals.fill(0);
  arrivalsAll.fill(0);
  let states = 0;
  let last = -1;
  for (let row = from; row < word.length; row++) {
    const value = ((word[row] as number) >>> shift) & mask;
    if (rank[value] === -1) {
      if (states === STATES_MAX) return Infinity;
      rank[value] = states++;
    }
    const state = rank[value] as number;
    if (row > from && joined[row] !== 0 && state !== last) {
      arrivals[last * STATES_MAX + state]!++;
      arrivalsAll[state]!++;
    }
    last = state;
  }
  if (isSpareFlag(length, states)) return 1;
  const naming = chooseCost(2 ** length, states) + Math.log2(states);
  if (states <= 2) return naming;
  let conditional = 0;
  for (let from = 0; from < states; from++) {
    conditional += symbolCost(arrivals, from * STATES_MAX, from * STATES_MAX + states, states - 1);
  }
  return naming + 1 + Math.min(conditional, symbolCost(arrivalsAll, 0, states, states));
}

/** The cheapest of the models for one span. Cost linear in rows. isFiner: courses are tried as well, which is some ten times as slow. */
export function spanCost(view: SpanView, isFiner = false): SpanCost {
  const { length } = view;
  tallySteps(view);
  const movement = movementCost(view.company, view.limit);
  const { pairs, moves } = movement;
  const isSeldom = length > 1 && moves < SELDOM_SHARE * pairs;
  const besides = special.filledUntil + WOKEN_BITS * special.woken;
  const finer = isFiner && length > 2 ? courseCostOf(view) : null;
  const number = length + courseCost(length, movement, finer) + besides - (isSeldom ? onenessOfNumber() : 0);
  const isFilled = special.wakes;
  const best: SpanCost = { bits: number, model: 'number', pairs, moves, isFilled };
  if (length > STATES_BITS_MAX) return best;
  const asStates = movement.bits + statesCost(view, special.start) + besides - (isSeldom ? onenessOfStates() : 0);
  return asStates <= best.bits || length === 1 ? { bits: asStates, model: 'states', pairs, moves, isFilled } : best;
}
