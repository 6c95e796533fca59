/**
 * Which identifiers answer others, told by time alone. Four things must hold. Delays are far tighter than chance makes them, by the
 * question's own spacing and by the same frames shifted in time as a block, which keeps both rhythms. The wire was free before
 * the answer: frames of one task queue one behind the other and look alike, and those are not claimed. The question does not follow
 * the answer as closely. And where the question has a period, the answer hangs on the question's very frames, late ones
 * late, and not on their grid: two tasks of one clock keep a distance too.
 */
import { lowerBound } from '../../frames/pictures/columns.ts';
import type { Steps } from '../../frames/pictures/steps.ts';
import type { Stream } from '../../frames/table.ts';
import { quantile, robustSd } from '../robust.ts';
import { medianInterval } from './intervals.ts';

export interface Following {
  readonly to: Stream;
  readonly delayUs: number;
  readonly spreadUs: number;
  /** First answers within the bounds, of those looked at. */
  readonly share: number;
  /** How many times denser they are there than questions spaced as these would make by chance. */
  readonly denser: number;
  /** Share of the questions that are answered. */
  readonly answered: number;
}

/** Answers looked at: enough to tell a density from chance's. */
const ANSWERS_LOOKED_AT = 300;
const ANSWERS_LEAST = 12;
/** So few of them show most pairs to be none, with some slack. */
const FIRST_LOOK = 40;
const FIRST_LOOK_SLACK = 1.3;
const SHARE = 0.9;
const DENSER_LEAST = 8;
/** Shifts of the answers against the questions; the densest of them must stay this far below. */
const SHIFTS = 19;
const SHIFT_US = 370_003;
const ABOVE_SHIFTS = 2;
const DELAY_MAX_US = 200_000;
/** An answer comes sooner than this share of the time between questions; later, it may as well come before the next. */
const SOON_SHARE = 0.6;
/** Time since the frame before beyond a frame's own: the wire was free, and the frame was not waiting. */
const FREE_TIMES = 1.5;
const FREE_US = 100;
const FREE_SHARE = 0.3;
/** Spread about the question's frames against that about their grid, and about the question's delay after the answer. */
const HANGS = 0.6;
/** Steps of the golden ratio: rows at equal distances could fall in with a rhythm. */
const GOLDEN = 0.6180339887498949;

/** The last question before a moment: its row, or -1. */
const askedBefore = (question: Stream, us: number): number => lowerBound(question.timeUs, us) - 1;

/** Rows of first answers: the first since the question before, spread over the capture. */
function firstAnswers(question: Stream, answer: Stream, most = ANSWERS_LOOKED_AT): Int32Array {
  const wanted = Math.min(most, answer.count);
  const rows: number[] = [];
  for (let i = 0; i < wanted; i++) {
    const row = Math.floor(((i + ((i * GOLDEN) % 1)) * answer.count) / (wanted + 1));
    if (row <= (rows.at(-1) ?? -1) || row >= answer.count) continue;
    const asked = askedBefore(question, answer.timeUs[row] as number);
    const isFirst = row === 0 || (answer.timeUs[row - 1] as number) <= (question.timeUs[asked] as number);
    if (asked >= 0 && isFirst) rows.push(row);
  }
  return Int32Array.from(rows);
}

/** [rows] microseconds since the last question, the answers taken as later by a shift; ascending. */
function delaysOf(question: Stream, answer: Stream, rows: Int32Array, shiftUs: number): Float64Array {
  const out = new Float64Array(rows.length);
  for (let i = 0; i < rows.length; i++) {
    const us = (answer.timeUs[rows[i] as number] as number) + shiftUs;
    const asked = askedBefore(question, us);
    out[i] = asked < 0 ? Infinity : us - (question.timeUs[asked] as number);
  }
  return out.sort();
}

interface Bounds {
  readonly from: number;
  readonly to: number;
}

/** The shortest stretch that holds SHARE of ascending delays. */
function boundsOf(delays: Float64Array): Bounds {
  const held = Math.max(2, Math.ceil(SHARE * delays.length));
  let best = { from: 0, to: Infinity };
  for (let i = 0; i + held <= delays.length; i++) {
    const [from, to] = [delays[i] as number, delays[i + held - 1] as number];
    if (to - from < best.to - best.from) best = { from, to };
  }
  return best;
}

const within = (delays: Float64Array, { from, to }: Bounds): number =>
  delays.filter((us) => us >= from && us <= to).length / delays.length;

/** An identifier is held against all others of its bus, and its times stay as they are: each median is taken once. */
const spacings = new WeakMap<Float64Array, number>();

function usualSpacing({ timeUs }: Stream): number {
  const known = spacings.get(timeUs) ?? medianInterval(timeUs);
  spacings.set(timeUs, known);
  return known;
}

/** Share that chance puts within the bounds: questions spaced as those asked. */
function byChance(question: Stream, answer: Stream, rows: Int32Array, { from, to }: Bounds): number {
  let sum = 0;
  for (const row of rows) {
    const asked = askedBefore(question, answer.timeUs[row] as number);
    const start = question.timeUs[asked] as number;
    const next = asked + 1 < question.count ? (question.timeUs[asked + 1] as number) : start + DELAY_MAX_US;
    sum += Math.min(1, (to - from + 1) / Math.max(1, next - start));
  }
  return sum / rows.length;
}

/** Share of the answers before which the wire was free. */
function freeShare(streams: readonly Stream[], answer: Stream, rows: Int32Array): number {
  const since = Float64Array.from(rows, (row) => {
    const us = answer.timeUs[row] as number;
    let last = -Infinity;
    for (const { timeUs } of streams) {
      const before = lowerBound(timeUs, us) - 1;
      if (before >= 0 && (timeUs[before] as number) > last) last = timeUs[before] as number;
    }
    return us - last;
  });
  const wireUs = quantile(since.slice().sort(), 0.02);
  return since.filter((us) => us > FREE_TIMES * wireUs + FREE_US).length / since.length;
}

/** Whether the answers hang on the question's frames: closer to those than to where their neighbours put them. */
function hangsOnFrames(question: Stream, answer: Stream, rows: Int32Array, bounds: Bounds): boolean {
  const toFrame: number[] = [];
  const toGrid: number[] = [];
  for (const row of rows) {
    const us = answer.timeUs[row] as number;
    const asked = askedBefore(question, us);
    if (asked < 1 || asked + 1 >= question.count) continue;
    const [last, own, next] = [asked - 1, asked, asked + 1].map((at) => question.timeUs[at] as number) as [
      number,
      number,
      number,
    ];
    if (us - own > bounds.to || us - own < bounds.from) continue;
    toFrame.push(us - own);
    toGrid.push(us - (last + next) / 2);
  }
  if (toFrame.length < ANSWERS_LEAST) return false;
  return robustSd(Float64Array.from(toFrame)) <= HANGS * robustSd(Float64Array.from(toGrid));
}

/** A first look at a few answers: delays that fill the time between questions, as those of most pairs do. */
function fillsTime(question: Stream, answer: Stream): boolean {
  const rows = firstAnswers(question, answer, FIRST_LOOK);
  if (rows.length < ANSWERS_LEAST) return false;
  const { to } = boundsOf(delaysOf(question, answer, rows, 0));
  return to > FIRST_LOOK_SLACK * Math.min(DELAY_MAX_US, SOON_SHARE * usualSpacing(question));
}

/** How a stream follows another, or null where it does not or that cannot be told. `streams`: all of its bus. */
function followingOf(streams: readonly Stream[], question: Stream, answer: Stream): Following | null {
  if (fillsTime(question, answer)) return null;
  const rows = firstAnswers(question, answer);
  if (rows.length < ANSWERS_LEAST) return null;
  const delays = delaysOf(question, answer, rows, 0);
  const bounds = boundsOf(delays);
  if (!(bounds.to <= DELAY_MAX_US)) return null;
  if (bounds.to > SOON_SHARE * usualSpacing(question)) return null;
  const share = within(delays, bounds);
  const denser = share / byChance(question, answer, rows, bounds);
  if (denser < DENSER_LEAST || !hangsOnFrames(question, answer, rows, bounds)) return null;
  for (let shift = 1; shift <= SHIFTS; shift++) {
    const chance = within(delaysOf(question, answer, rows, shift * SHIFT_US), bounds);
    if (chance * ABOVE_SHIFTS > share) return null;
  }
  if (freeShare(streams, answer, rows) < FREE_SHARE) return null;
  const held = delays.filter((us) => us >= bounds.from && us <= bounds.to);
  const perQuestion = Math.min(1, (rows.length / ANSWERS_LOOKED_AT) * (answer.count / question.count));
  const answered = answer.count <= ANSWERS_LOOKED_AT ? Math.min(1, rows.length / question.count) : perQuestion;
  return { to: question, delayUs: quantile(held, 0.5), spreadUs: robustSd(held), share, denser, answered };
}

/**
 * What a stream follows, the tightest of several; null where nothing is told. Cost: a sample of its frames for each stream of its bus.
 * @param streams those of its bus that may be questions, and may have held the wire
 */
export function* findFollowed(streams: readonly Stream[], answer: Stream): Steps<Following | null> {
  let best: Following | null = null;
  for (const question of streams) {
    if (question === answer || question.count < ANSWERS_LEAST) continue;
    const found = followingOf(streams, question, answer);
    yield;
    if (!found || (best && best.spreadUs <= found.spreadUs)) continue;
    if (!followingOf(streams, answer, question)) best = found;
  }
  return best;
}
