/**
 * What one part shows of one command: what it says again, and what it does. By themselves both may look alike; beside each other the earlier and truer is what
 * the part has heard, and what is later, is held back or moves by itself is what it does.
 */
import { isOfSender } from './enables.ts';
import { movesByItself } from './own-motion.ts';
import type { Told } from './told.ts';

/** What fits less than this is not all of the command. */
const R2_ALIKE = 0.95;
/** The truer of the two leaves less open than the other by this factor. */
const CLEARLY_TRUER = 2;
/** Less than this share is left open by rounding alone. */
const NOTHING_LEFT = 5e-4;

const isLaterThan = (one: Told, echo: Told): boolean =>
  one.spread.lagUs[0] > echo.spread.lagUs[1] &&
  one.best.lagUs - echo.best.lagUs > Math.max(one.tellingUs, echo.tellingUs);

const isTruer = (a: Told, b: Told): boolean => a.openInAll * CLEARLY_TRUER + NOTHING_LEFT <= b.openInAll;

/** Beside an exact echo of the same part. */
function doesIt(one: Told, echo: Told): boolean {
  if (one === echo || one.way === 'answer' || one.best.unexplained > 1 - R2_ALIKE || isTruer(one, echo)) return false;
  return isLaterThan(one, echo) || (one.short?.times ?? 0) > 0 || movesByItself(one.own);
}

/** Told an answer by nothing but a fit that is not quite exact, while another one of the part's is one for sure. */
const saysAgain = (one: Told, answer: Told): boolean =>
  one !== answer &&
  one.mark === 'inexact' &&
  answer.mark !== 'inexact' &&
  answer.way === 'answer' &&
  isTruer(one, answer);

/** What the same part shows of the same command. */
const besideIt = (one: Told, all: readonly Told[]): Told[] =>
  all.filter((other) => other.leader === one.leader && isOfSender(other.follower, one.follower));

export function setApart(told: readonly Told[]): Told[] {
  const answers = told.map((one): Told => {
    const isDone = besideIt(one, told).some((echo) => echo.way === 'copy' && doesIt(one, echo));
    return isDone ? { ...one, way: 'answer', mark: 'beside' } : one;
  });
  return answers.map((one) =>
    besideIt(one, answers).some((answer) => saysAgain(one, answer)) ? { ...one, way: 'copy', mark: null } : one,
  );
}
