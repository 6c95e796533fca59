/**
 * What a flag stops: while it stands the answer stays at one value whatever is asked for, else it does what it is asked. What is asked for is read from
 * the command by a straight line through the time in which the flag does not stand; where the answer rests is what it shows while the flag stands.
 */
import { median } from '../../kit/statistics/order.ts';
import { onGrid } from '../../fields/same-value/pairs.ts';
import { runsOf, settled, STEP_US, UNKNOWN, type Course } from './instants.ts';
import type { Told } from './told.ts';

/** Shares of the answer's range. */
const ACTS = 0.05;
const ASKS = 0.1;
/** What stops needs so many points besides its lag. */
const STOPS = 4;
const LONG = 4;
const BLOCKED_LEAST = 10;
const STILL_LEAST = 0.97;

/** [points] of a command and its answer, read once for all flags. */
export interface Loop {
  readonly told: Told;
  readonly command: Float64Array;
  readonly answer: Float64Array;
  readonly range: number;
  readonly late: number;
}

export function loopOf(told: Told, points: number): Loop {
  const late = Math.round(told.best.lagUs / STEP_US);
  const read = onGrid(told.leader.field, STEP_US, points);
  const { least, greatest } = told.follower.field;
  return {
    told,
    command: read.map((_, k) => read[k - late] ?? Number.NaN),
    answer: onGrid(told.follower.field, STEP_US, points),
    range: greatest - least,
    late,
  };
}

export interface Held {
  /** 1 where something is asked for and not done, 0 where it is done, unknown where nothing is asked for. */
  readonly held: Course;
  /** The flag, unknown while the answer may not have come to its new value. */
  readonly blocks: Course;
  /** Times something was asked for while it stood, and those of them without any answer. */
  readonly asked: number;
  readonly refused: number;
  /** Share of the acting that falls into the time in which it stands. */
  readonly despite: number;
  /** Share of what is asked for while it does not stand that is not done all the same. */
  readonly otherwise: number;
}

/** Least squares of the answer on the command over some instants. */
function lineOver({ command, answer }: Loop, is: (k: number) => boolean): (value: number) => number {
  let [n, x, y, xx, xy] = [0, 0, 0, 0, 0];
  command.forEach((a, k) => {
    const b = answer[k] as number;
    if (Number.isNaN(a) || Number.isNaN(b) || !is(k)) return;
    n++;
    x += a;
    y += b;
    xx += a * a;
    xy += a * b;
  });
  const spread = xx - (x * x) / n;
  const slope = spread > 0 ? (xy - (x * y) / n) / spread : 0;
  return (value) => y / n + slope * (value - x / n);
}

/**
 * null where the answer does not stay at one value while the flag stands. stands: 1 where the flag has the value that may stop; periodUs: of its frame, which
 * tells of a turn so much late.
 */
export function heldWhile(loop: Loop, stands: Course, periodUs: number): Held | null {
  const { command, answer, range, late } = loop;
  const blocks = settled(stands, late + STOPS, Math.ceil(periodUs / STEP_US));
  const still: number[] = [];
  answer.forEach((value, k) => {
    if (blocks[k] === 1 && !Number.isNaN(value)) still.push(value);
  });
  if (still.length < BLOCKED_LEAST || !(range > 0)) return null;
  const rest = median(still);
  const isActing = (k: number): boolean => Math.abs((answer[k] as number) - rest) > ACTS * range;
  if (still.filter((value) => Math.abs(value - rest) <= ACTS * range).length < STILL_LEAST * still.length) return null;
  const wanted = lineOver(loop, (k) => blocks[k] === 0);
  let asking = 0;
  const held = answer.map((value, k) => {
    const isAsked = Math.abs(wanted(command[k] as number) - rest) > ASKS * range;
    asking = isAsked ? asking + 1 : 0;
    return asking > STOPS && !Number.isNaN(value) ? Number(!isActing(k)) : UNKNOWN;
  });
  const course = Int8Array.from(held);
  const asked = runsOf(course.length, (k) => blocks[k] === 1 && course[k] !== UNKNOWN, LONG);
  const refused = asked.filter(([from, to]) => !course.subarray(from, to).includes(0));
  let [acting, despite] = [0, 0];
  answer.forEach((value, k) => {
    if (Number.isNaN(value) || blocks[k] === UNKNOWN || !isActing(k)) return;
    acting++;
    if (blocks[k] === 1) despite++;
  });
  let [free, undone] = [0, 0];
  course.forEach((is, k) => {
    if (is === UNKNOWN || blocks[k] !== 0) return;
    free++;
    undone += is;
  });
  return {
    held: course,
    blocks,
    asked: asked.length,
    refused: refused.length,
    despite: despite / Math.max(1, acting),
    otherwise: undone / Math.max(1, free),
  };
}
