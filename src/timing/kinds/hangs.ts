/**
 * Whether answers hang on a question's very frames, late ones late, and not on the grid that those keep: two tasks of one clock keep
 * a distance too. For each answer the place of its question on the grid is told by the questions around it; the distances to the
 * frame and to that place are held against each other as two Laplace distributions (a log likelihood ratio, in nats). Where
 * a sender is only now and then held up by another's work it is late by a part: so the frame must also do better
 * than the middle between both.
 */
import type { Stream } from '../../frames/table.ts';
import { median, robustSd } from '../robust.ts';
import { askedBefore } from './answer-rows.ts';

/** Questions on either side that tell the place of one on the grid. */
const NEIGHBOURS = 3;
/** Between them the intervals are equal within this share: none was lost, no timer began anew. */
const REGULAR = 0.15;
/** Beyond so many times what is usual a distance counts no further: a few moments shall not decide. */
const CAP = 6;
const ROWS_LEAST = 20;
/** Mean lateness of a question, in steps of its stamps: less is mostly rounding. */
const ROUNDED = 0.5;

/** Where its neighbours put a question, at their median since single ones are late; NaN where they keep no grid. */
function gridPlace({ timeUs, count }: Stream, asked: number): number {
  if (asked < NEIGHBOURS || asked + NEIGHBOURS >= count) return NaN;
  const usual = ((timeUs[asked + NEIGHBOURS] as number) - (timeUs[asked - NEIGHBOURS] as number)) / (2 * NEIGHBOURS);
  const places: number[] = [];
  for (let away = -NEIGHBOURS; away <= NEIGHBOURS; away++) {
    const us = timeUs[asked + away] as number;
    if (away > -NEIGHBOURS && Math.abs(us - (timeUs[asked + away - 1] as number) - usual) > REGULAR * usual) return NaN;
    if (away !== 0) places.push(us - away * usual);
  }
  return median(Float64Array.from(places));
}

/** Share of a question's frames that lie among neighbours at equal distances. */
export function regularShare(question: Stream, rows: readonly number[]): number {
  const regular = rows.filter((row) => !Number.isNaN(gridPlace(question, row))).length;
  return rows.length > 0 ? regular / rows.length : 0;
}

/** The three distances of each answer whose question lies on a grid: to its frame, to its place, to the middle between. */
interface Distances {
  readonly frame: Float64Array;
  readonly grid: Float64Array;
  readonly middle: Float64Array;
}

/** All answers that come soon: chosen by how well they keep the distance to the frame they would speak for it. */
function distancesOf(question: Stream, answer: Stream, rows: Int32Array, soonUs: number): Distances {
  const [frame, grid, middle]: [number[], number[], number[]] = [[], [], []];
  for (const row of rows) {
    const us = answer.timeUs[row] as number;
    const asked = askedBefore(question, us);
    const frameUs = question.timeUs[asked] as number;
    const gridUs = us - frameUs <= soonUs ? gridPlace(question, asked) : NaN;
    if (Number.isNaN(gridUs)) continue;
    frame.push(us - frameUs);
    grid.push(us - gridUs);
    middle.push(us - (frameUs + gridUs) / 2);
  }
  return { frame: Float64Array.from(frame), grid: Float64Array.from(grid), middle: Float64Array.from(middle) };
}

/** Mean distance from the median, none counted beyond the cap. */
function meanDistance(values: Float64Array, capUs = Infinity): number {
  const middle = median(values);
  return values.reduce((sum, us) => sum + Math.min(capUs, Math.abs(us - middle)), 0) / values.length;
}

/** Correlation of one question's lateness with the next one's beyond which it is the clock that wanders, and all of its frames with it. */
const WANDERS = 0.15;
const LATENESS_CAP = 4;

function wanders(lateness: Float64Array): boolean {
  const middle = median(lateness);
  const capUs = LATENESS_CAP * meanDistance(lateness);
  const off = lateness.map((us) => Math.max(-capUs, Math.min(capUs, us - middle)));
  let [product, square] = [0, 0];
  for (let i = 1; i < off.length; i++) {
    product += (off[i] as number) * (off[i - 1] as number);
    square += (off[i] as number) ** 2;
  }
  return product > WANDERS * square;
}

export interface Hanging {
  /** By which the answers hang on frames rather than on their grid, negative where on the grid. */
  readonly nats: number;
  /** Mean distance of the delays from their median. */
  readonly spreadUs: number;
}

/**
 * null where too few questions lie on a grid, where the question is late by less than its stamps are rounded (two that are rounded alike
 * look late together), where its clock wanders by more than its frames are late, and where answers are late by a part only.
 * @param rows of answers @param soonUs no answer comes later @param stepUs what stamps step by
 */
export function hangingOf(
  question: Stream,
  answer: Stream,
  rows: Int32Array,
  soonUs: number,
  stepUs: number,
): Hanging | null {
  const { frame, grid, middle } = distancesOf(question, answer, rows, soonUs);
  if (frame.length < ROWS_LEAST) return null;
  const lateness = grid.map((us, i) => us - (frame[i] as number));
  if (meanDistance(lateness) < ROUNDED * stepUs || wanders(lateness)) return null;
  const capUs = CAP * Math.max(meanDistance(frame), meanDistance(grid));
  const [toFrame, toGrid, toMiddle] = [frame, grid, middle].map((values) => meanDistance(values, capUs)) as [
    number,
    number,
    number,
  ];
  if (toMiddle <= toFrame) return null;
  return { nats: frame.length * Math.log(toGrid / Math.max(toFrame, 1e-3)), spreadUs: toFrame };
}

const BLOCKS = 4;
/** Medians of blocks may differ by so much of the spread within them, and by so many standard errors of a median. */
const DRIFTS_SHARE = 0.5;
const DRIFTS_ERRORS = 4;

/** Whether the distance to the question changes as the recording goes on: of two clocks, neither of which waits for the other. */
export function drifts(question: Stream, answer: Stream, rows: Int32Array, soonUs: number): boolean {
  const delays = Float64Array.from(rows, (row) => {
    const us = answer.timeUs[row] as number;
    return us - (question.timeUs[askedBefore(question, us)] as number);
  }).filter((us) => us <= soonUs);
  const size = Math.floor(delays.length / BLOCKS);
  if (size < 3) return false;
  const medians = Array.from({ length: BLOCKS }, (_, block) =>
    median(delays.subarray(block * size, (block + 1) * size)),
  );
  const residuals = delays.subarray(0, BLOCKS * size).map((us, i) => us - (medians[Math.floor(i / size)] as number));
  const sd = robustSd(residuals);
  const error = (1.25 * sd) / Math.sqrt(size);
  return Math.max(...medians) - Math.min(...medians) > DRIFTS_SHARE * sd + DRIFTS_ERRORS * error;
}
