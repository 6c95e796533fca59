/**
 * One pass over a span's values: when it moved, in which company, and by how much, seen from the last value, from where the last step
 * would have led again, and from a running mean. Tallies are kept in this module from one call to the next: a span is priced
 * hundreds of times a frame, and nothing is allocated.
 */
import type { Company } from './company.ts';
import { WAKING } from './payload-rows.ts';
import { StepTally } from './step-tally.ts';
import { addTransition, clearTransitions } from './transitions.ts';

/** A span in the rows it is read from. */
export interface SpanView {
  /** [rows] the bytes that hold the span, joined to one number. */
  readonly word: Uint32Array;
  /** [rows] as in PayloadRows. */
  readonly joined: Uint8Array;
  /** [rows] as `suddenRows` gives them. */
  readonly sudden: Uint8Array;
  /** Where the span begins in the word. */
  readonly shift: number;
  readonly length: number;
  /** What moves together is no surprise twice: bits before `limit` (byte * 8 + bit) are company. */
  readonly company: Company;
  readonly limit: number;
}

/** Rows since the last move are told apart up to this many: a value refreshed every tenth frame is then no surprise. */
export const RUNS = 16;

export const stay = new Int32Array(RUNS);
export const move = new Int32Array(RUNS);
/**
 * Bits to say that the value was a filling at first and until when, the first row behind it and whether its module woke then; moves of a single bit to zero where a module wakes, moves in company,
 * leaps to and from "no data" (all ones, or an end of the signed range where the value began there), and bits to say where those from it lead.
 */
export const special = {
  filledUntil: 0,
  start: 0,
  wakes: false,
  woken: 0,
  company: 0,
  fillings: 0,
  leaving: 0,
  beginning: 0,
};

/** Steps from the last value and from a running mean, counted only when the value moved; and from the mean at every row. */
export const fromLast = new StepTally();
export const fromMean = new StepTally();
export const always = new StepTally();
/** Steps from where the last step would have led again: ramps, timers. */
export const fromSlope = new StepTally();
/**
 * A running mean leans 1/2^this toward each new value, after a leap no more than else: what counts as one depends on the width, and a noisy
 * value would be cheaper to write down the wider it is read.
 */
const LEANING = 2;

/** The spread of a value is a running mean too, leaning 1/2^this toward how far each row is off the mean. */
const SPREADING = 3;
/** A mean goes where the value goes that is this many times 2^this further off than usual, by so many steps at least. */
const ASTRAY = 3;
const ASTRAY_STEPS = 6;

/**
 * Whether the value has gone to another level: told by its own spread and not by its width, or a noisy value would be cheaper to write
 * down the wider it is read.
 */
const isAstray = (off: number, spread: number, lift: number): boolean => {
  const far = Math.abs(off);
  return far >> ASTRAY > spread && far >> lift >= ASTRAY_STEPS;
};

/** How far a running mean goes toward a value that is so far off. */
const drawn = (off: number, spread: number, lift: number): number =>
  isAstray(off, spread, lift) ? off : off >> LEANING;

/** How much the spread widens by a value that is so far off, or narrows. */
const widened = (off: number, spread: number): number => (Math.abs(off) - spread) >> SPREADING;

/**
 * Tallies the steps of the value. Values are lifted to the top of 32 bits, so that wrapping is what integer
 * arithmetic does, and running means keep fractions below.
 */
export function tallySteps({ word, joined, sudden, shift, length, company, limit }: SpanView): void {
  stay.fill(0);
  move.fill(0);
  special.company = special.fillings = special.leaving = special.beginning = 0;
  shared.fill(0);
  special.woken = 0;
  clearTransitions();
  fromLast.clear();
  fromMean.clear();
  always.clear();
  fromSlope.clear();
  const up = 32 - length - shift;
  const lift = 32 - length;
  const keep = lift === 0 ? -1 : ~((1 << lift) - 1);
  const half = lift === 0 ? 0 : 1 << (lift - 1);
  const withMeans = length > 2;
  const leap = length >= 4 ? 2 ** 29 : Infinity;
  const start = up >= 0 && length > 1 ? afterFilling(word, up, keep, length) : 0;
  special.filledUntil = start > 0 ? fillingEnds(company, limit, start, sudden) : 0;
  special.start = start;
  special.wakes = start > 0 && sudden[start] === WAKING;
  const code = noDataOf(word, up, keep, length);
  let begun = false;
  let measured = 0;
  let isMeasured = false;
  let run = 0;
  let before = 0;
  let movingMean = 0;
  let mean = 0;
  let movingSpread = 0;
  let spread = 0;
  let slope = 0;
  for (let row = start; row < word.length; row++) {
    const raw = word[row] as number;
    const value = (up >= 0 ? raw << up : raw >>> -up) & keep;
    if (row === start || joined[row] === 0) {
      if (row === start) movingMean = mean = value;
      before = value;
      slope = 0;
      continue;
    }
    if (value === before) {
      stay[run]!++;
      if (run < RUNS - 1) run++;
      if (withMeans) {
        const off = (value - mean) | 0;
        always.add((off + half) >> lift);
        mean = (mean + drawn(off, spread, lift)) | 0;
        spread += widened(off, spread);
      }
      continue;
    }
    move[run]!++;
    run = 0;
    tallyCompany(company, limit, row);
    if (sudden[row] === 0) addTransition(before, value);
    else if (sudden[row] === WAKING && length === 1 && value === 0) special.woken++;
    const step = (value - before) | 0;
    const wasCode = before === keep || before === code;
    if (!wasCode) {
      measured = before;
      isMeasured = true;
    }
    before = value;
    const isLeap = step > leap || step < -leap || (!begun && isBeginning(step >> lift, length));
    if (isLeap && (wasCode || value === keep || value === code || !begun)) {
      special.fillings++;
      if (!begun) special.beginning = fillingEnds(company, limit, row, sudden);
      if (wasCode || !begun) special.leaving += isMeasured ? backCost((value - measured) | 0, lift, length) : length;
      begun = true;
      movingMean = mean = value;
      slope = 0;
      continue;
    }
    begun = true;
    fromLast.add(step >> lift);
    if (!withMeans) continue;
    fromSlope.add(((step - slope) | 0) >> lift);
    slope = step;
    const off = (value - mean) | 0;
    always.add((off + half) >> lift);
    mean = (mean + drawn(off, spread, lift)) | 0;
    spread += widened(off, spread);
    const offMoving = (value - movingMean) | 0;
    fromMean.add((offMoving + half) >> lift);
    movingMean = (movingMean + drawn(offMoving, movingSpread, lift)) | 0;
    movingSpread += widened(offMoving, movingSpread);
  }
}

/** A value so wide that moves so far by its first move may have been at rest before it was known, whatever the share of its range. */
const BEGINNING_BITS_MIN = 8;
const BEGINNING_STEPS = 16;

/** Whether a value's first step leads it from where it was set before it was known. Coming round, it may look short beside its range. */
export const isBeginning = (step: number, length: number): boolean =>
  length >= BEGINNING_BITS_MIN && Math.abs(step) >= BEGINNING_STEPS;

/** Bits to say where a value comes back from "no data": near where it was, or anywhere. */
function backCost(step: number, lift: number, length: number): number {
  const distance = Math.abs(step >> lift);
  return Math.min(length, 3 + 2 * (32 - Math.clz32(distance)));
}

const isInCompany = ({ from, moved }: Company, limit: number, row: number): boolean => {
  const first = from[row] as number;
  return first < (from[row + 1] as number) && (moved[first] as number) < limit;
};

/** Bits to say in which row a filling ends: little where much else changes, or a bit in front moves; else any row will do. */
function fillingEnds(company: Company, limit: number, row: number, sudden: Uint8Array): number {
  if (sudden[row] !== 0) return 1;
  return isInCompany(company, limit, row) ? 4 : 2 + Math.log2(sudden.length);
}

/** Values this wide may also say "no data" by the lowest signed number. */
const LOWEST_BITS_MIN = 8;

/** The lowest or the greatest signed number. */
const isEndOfSigned = (value: number, keep: number): boolean => value === 1 << 31 || value === (keep ^ (1 << 31));

/** What the value says for "no data" besides all ones: what it began with, where that is an end of its range. */
function noDataOf(word: Uint32Array, up: number, keep: number, length: number): number {
  if (word.length === 0 || length < LOWEST_BITS_MIN) return keep;
  const raw = word[0] as number;
  const first = (up >= 0 ? raw << up : raw >>> -up) & keep;
  return isEndOfSigned(first, keep) ? first : keep;
}

/** The first row behind a start-up filling: all ones, or the lowest or greatest signed number; 0 where there is none or nothing else. */
function afterFilling(word: Uint32Array, up: number, keep: number, length: number): number {
  if (word.length === 0) return 0;
  const first = ((word[0] as number) << up) & keep;
  if (first !== keep && !(length >= LOWEST_BITS_MIN && isEndOfSigned(first, keep))) return 0;
  let row = 1;
  while (row < word.length && (((word[row] as number) << up) & keep) === first) row++;
  return row < word.length ? row : 0;
}

/** [bits] how often a span moved together with each bit of its company. */
export const shared = new Int32Array(512);

function tallyCompany(company: Company, limit: number, row: number): void {
  if (!isInCompany(company, limit, row)) return;
  const { from, moved } = company;
  const end = from[row + 1] as number;
  special.company++;
  for (let at = from[row] as number; at < end && (moved[at] as number) < limit; at++) shared[moved[at] as number]!++;
}
