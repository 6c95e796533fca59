/**
 * Finds stamps written in two columns: whole seconds (or a time without a fraction), and the fraction
 * of the second in a unit that its heading names. The two belong together where the fraction falls back
 * just when the seconds move on.
 */
import type { ColumnFacts } from './facts.ts';
import { numberOf } from './facts.ts';
import type { PlainRole } from './plan.ts';
import { unitInHeading } from './words.ts';

export type FractionRole = Extract<PlainRole, 'milliseconds' | 'microseconds' | 'nanoseconds'>;

/** Decimals of a second that each unit counts. */
export const FRACTION_DECIMALS: Readonly<Record<FractionRole, number>> = {
  milliseconds: 3,
  microseconds: 6,
  nanoseconds: 9,
};

export interface SplitStamp {
  readonly seconds: ColumnFacts;
  readonly fraction: ColumnFacts;
  readonly role: FractionRole;
}

const AGREEING = 0.9;

export function findSplitStamp(facts: readonly ColumnFacts[]): SplitStamp | null {
  for (const fraction of facts) {
    const role = fractionRole(fraction);
    const seconds =
      role && facts.find((each) => each !== fraction && isWholeSeconds(each) && moveTogether(each, fraction));
    if (role && seconds) return { seconds, fraction, role };
  }
  return null;
}

function fractionRole(each: ColumnFacts): FractionRole | null {
  const unit = unitInHeading(each.heading);
  if (unit === null || !(unit in FRACTION_DECIMALS) || each.whole < 1 || each.filled < 1) return null;
  const role = unit as FractionRole;
  return each.least >= 0 && each.greatest < 10 ** FRACTION_DECIMALS[role] ? role : null;
}

/** Dates and times of day without a fraction, or whole numbers under a heading that says seconds. */
function isWholeSeconds(each: ColumnFacts): boolean {
  const isClock = (each.timeOfDay > 0.95 || each.date > 0.95) && each.cells.some((cell) => cell.includes(':'));
  if (isClock) return !each.cells.some((cell) => /:\d\d[.,]\d/.test(cell));
  return each.whole === 1 && unitInHeading(each.heading.replace(/^tv_/i, '')) === 'seconds';
}

function moveTogether(seconds: ColumnFacts, fraction: ColumnFacts): boolean {
  let falls = 0;
  let agreeing = 0;
  let moves = 0;
  for (let row = 1; row < fraction.cells.length; row++) {
    const moved = seconds.cells[row] !== seconds.cells[row - 1];
    const fell = numberOf(fraction.cells[row] as string) < numberOf(fraction.cells[row - 1] as string);
    if (moved) moves++;
    if (fell) falls++;
    if (moved && fell) agreeing++;
  }
  // A pause may move the seconds on without the fraction falling; a full stamp beside the seconds never falls.
  return falls === 0 ? moves === 0 : agreeing >= falls * AGREEING && agreeing >= moves / 2;
}
