/**
 * Which identifiers answer others, told by time alone. Always the wire was free before the answer (`free-wire.ts`), the answer comes soon, no
 * frame of it comes without a question, and the question does not follow the answer as well. A question that comes at any time gives
 * itself away by density: delays are far tighter than its own spacing makes them, and than the same frames shifted in time as
 * a block, which keeps both rhythms. One on a period says nothing by that, since another task of its clock keeps a distance too:
 * there the answer must hang on its very frames (`hangs.ts`).
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import type { Stream } from '../../frames/table.ts';
import { median, robustSd } from '../robust.ts';
import {
  askedBefore,
  boundsOf,
  delaysOf,
  firstAnswers,
  spreadRows,
  usualSpacing,
  within,
  type Bounds,
} from './answer-rows.ts';
import { freeRows, idleBeforeUs, lookAtWire } from './free-wire.ts';
import { drifts, hangingOf, regularShare } from './hangs.ts';

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

const ANSWERS_LEAST = 12;
/** Answers looked at: so few show most pairs to be none, so many tell a density from chance's, so many a lateness from its own. */
const FIRST_LOOK = 40;
const FIRST_LOOK_SLACK = 1.3;
const ANSWERS_LOOKED_AT = 300;
const ANSWERS_HELD = 2000;
const SHARE = 0.9;
const DENSER_LEAST = 8;
/** Shifts of the answers against the questions; the densest of them must stay this far below. */
const SHIFTS = 19;
const SHIFT_US = 370_003;
const ABOVE_SHIFTS = 2;
const DELAY_MAX_US = 200_000;
/** An answer comes sooner than this share of the time between questions; later, it may as well come before the next. */
const SOON_SHARE = 0.6;
const FREE_SHARE = 0.15;
/** What hardly ever answers is sent for another reason. */
const ANSWERED_LEAST = 0.5;
/** More of its frames on equal distances: a question with a period. */
const REGULAR_SHARE = 0.5;
/** A question on a period is left unanswered now and then; what comes at every second one has its turn by the same clock. */
const ANSWERED_MOSTLY = 0.7;
/**
 * Nats for frames against grid that chance does not reach among the thousands of pairs of a bus, whatever share of the answer's own
 * lateness the question's is; and of the answers before which the wire was free, which are fewer.
 */
const NATS_LEAST = 20;
const FREE_NATS_LEAST = 12;
/** Spread against that about a grid of its own: what has one answers nobody who asks at any time, unless it strays far from it. */
const TIGHTER = 0.3;
/** Of two questions that are followed about as tightly the one that is answered more often is meant. */
const AS_TIGHT = 1.15;
const ANSWERED_MORE = 1.2;

const soonUs = (question: Stream): number => Math.min(DELAY_MAX_US, SOON_SHARE * usualSpacing(question));

/** A first look at a few frames: delays that fill the time between questions, as those of most pairs do, and frames without a question. */
function isOutOfQuestion(question: Stream, answer: Stream): boolean {
  const limitUs = FIRST_LOOK_SLACK * soonUs(question);
  const all = delaysOf(question, answer, spreadRows(answer.count, FIRST_LOOK));
  return within(all, { from: 0, to: limitUs }) < SHARE - 1 / FIRST_LOOK;
}

/** Share that chance puts within the bounds: questions spaced as those asked. */
function byChance(question: Stream, answer: Stream, rows: Int32Array, { from, to }: Bounds, stepUs: number): number {
  let sum = 0;
  for (const row of rows) {
    const asked = askedBefore(question, answer.timeUs[row] as number);
    const start = question.timeUs[asked] as number;
    const next = asked + 1 < question.count ? (question.timeUs[asked + 1] as number) : start + DELAY_MAX_US;
    sum += Math.min(1, (to - from + Math.max(1, stepUs)) / Math.max(1, next - start));
  }
  return sum / rows.length;
}

/** Share of the questions that a first answer follows. O(answers). */
function answeredShare(question: Stream, answer: Stream): number {
  const rows = firstAnswers(question, answer, ANSWERS_HELD);
  const every = answer.count / Math.min(answer.count, ANSWERS_HELD);
  return Math.min(1, (rows.length * every) / question.count);
}

/** Whether the same frames, shifted as a block, never come nearly as often within the bounds. */
function beatsShifts(question: Stream, answer: Stream, rows: Int32Array, bounds: Bounds, share: number): boolean {
  for (let shift = 1; shift <= SHIFTS; shift++) {
    const chance = within(delaysOf(question, answer, rows, shift * SHIFT_US), bounds);
    if (chance * ABOVE_SHIFTS > share) return false;
  }
  return true;
}

/** How a stream follows another, or null where it does not or that cannot be told. `streams`: all of its bus. */
function followingOf(
  streams: readonly Stream[],
  question: Stream,
  answer: Stream,
  ownJitterUs: number | null,
): Following | null {
  if (isOutOfQuestion(question, answer)) return null;
  const rows = firstAnswers(question, answer, ANSWERS_LOOKED_AT);
  if (rows.length < ANSWERS_LEAST) return null;
  const delays = delaysOf(question, answer, rows);
  const bounds = boundsOf(delays, SHARE);
  if (!(bounds.to <= soonUs(question))) return null;
  const answered = answeredShare(question, answer);
  const share = within(delays, bounds);
  const { stepUs } = lookAtWire(streams);
  const denser = share / byChance(question, answer, rows, bounds, stepUs);
  if (denser < DENSER_LEAST) return null;
  const held = delays.filter((us) => us >= bounds.from && us <= bounds.to);
  if (median(held) < idleBeforeUs(streams, answer)) return null;
  const spreadUs = robustSd(held);
  const isRegular = regularShare(question, spreadRows(question.count, ANSWERS_LOOKED_AT)) > REGULAR_SHARE;
  if (answered < (isRegular ? ANSWERED_MOSTLY : ANSWERED_LEAST)) return null;
  const byFrames = isRegular && ownJitterUs !== null;
  const hold = byFrames ? firstAnswers(question, answer, ANSWERS_HELD) : rows;
  const hanging = byFrames ? hangingOf(question, answer, hold, soonUs(question), stepUs) : null;
  if (byFrames && !(hanging && hanging.nats >= NATS_LEAST)) return null;
  if (!byFrames) {
    if (ownJitterUs !== null && spreadUs + stepUs / 2 > TIGHTER * ownJitterUs) return null;
    if (!isRegular && !beatsShifts(question, answer, rows, bounds, share)) return null;
  }
  const free = freeRows(streams, answer, hold);
  if (free.length < Math.max(ANSWERS_LEAST, FREE_SHARE * hold.length)) return null;
  const onFree = byFrames ? hangingOf(question, answer, free, soonUs(question), stepUs) : null;
  if (byFrames && !(onFree && onFree.nats >= FREE_NATS_LEAST)) return null;
  if (isRegular && drifts(question, answer, hold, soonUs(question))) return null;
  const found = { to: question, delayUs: median(held), share, denser, answered };
  return { ...found, spreadUs: onFree?.spreadUs ?? spreadUs };
}

const isBetter = (one: Following, other: Following): boolean => {
  const asTight = Math.max(one.spreadUs, other.spreadUs) <= AS_TIGHT * Math.min(one.spreadUs, other.spreadUs);
  const ratio = one.answered / other.answered;
  if (asTight && (ratio > ANSWERED_MORE || ratio < 1 / ANSWERED_MORE)) return ratio > 1;
  return one.spreadUs < other.spreadUs;
};

/**
 * What a stream follows, the tightest of several; null where nothing is told. Cost: a sample of its frames for each stream of its bus.
 * @param streams those of its bus that may be questions, and may have held the wire
 * @param ownJitterUs how well it keeps a period of its own; null where it has none
 */
export function* findFollowed(
  streams: readonly Stream[],
  answer: Stream,
  ownJitterUs: number | null,
): Steps<Following | null> {
  if (lookAtWire(streams).isBatched) return null;
  yield;
  let best: Following | null = null;
  for (const question of streams) {
    if (question === answer || question.count < ANSWERS_LEAST) continue;
    const found = followingOf(streams, question, answer, ownJitterUs);
    yield;
    if (!found || (best && !isBetter(found, best))) continue;
    if (!followingOf(streams, answer, question, null)) best = found;
  }
  return best;
}
