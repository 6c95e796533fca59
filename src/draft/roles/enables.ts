/**
 * A flag that must be set before something acts: not of the part that acts, set by then each time, and where it is not set there is no answer to what is
 * asked for. Chance by circular shifts, false discovery over all flags and commands.
 */
import { heldWhile, loopOf, type Loop } from './held.ts';
import { agreement, chanceOf, claimed, flagIs, pointsOf, runsOf, STEP_US, type Course } from './instants.ts';
import { restOf, type Prepared } from './prepared.ts';
import type { Told } from './told.ts';

const CLAIM_Q = 0.05;
const DESPITE_MOST = 0.01;
/** Of what is asked for without it, hardly anything is done; with it hardly anything is held back. */
const REFUSED_LEAST = 0.9;
const OTHERWISE_MOST = 0.3;
const TIMES_LEAST = 2;
/** A flag of another sender than the command's must be set anew so often, as a fault is not, and refuse so often. */
const TURNS_SURE = 4;
const REFUSED_SURE = 3;

export interface Enable {
  readonly flag: Prepared;
  readonly command: Prepared;
  readonly acting: Prepared;
  readonly value: number;
  /** Times it was set. */
  readonly turns: number;
  /** Times something was asked for without it, and those without an answer. */
  readonly asked: number;
  readonly refused: number;
  /** Share of the acting without it. */
  readonly without: number;
  readonly agreement: number;
  readonly p: number;
  readonly q: number;
}

export const isFlag = ({ candidate, field }: Prepared): boolean =>
  candidate.field.kind === 'flag' && field.distinct === 2;

/** Of one sender as far as it is known, or of one frame. */
export const isOfSender = (a: Prepared, b: Prepared): boolean =>
  a.candidate.stream === b.candidate.stream || (a.likelySender !== null && a.likelySender === b.likelySender);

/** Share of the times that something begins to act, and times at least, at which a flag that is no enable is set only then. */
const LATE_SHARE = 0.1;
const LATE_TIMES = 2;
const RESTS = 5;
const BEGINS = 0.05;

/** What is set because something acts comes after it. off: 1 where the flag stands against it. */
function comesAfter({ answer, range }: Loop, off: Course, periodUs: number): boolean {
  const rest = restOf(answer);
  const isActing = (k: number): boolean => Math.abs((answer[k] as number) - rest) > BEGINS * range;
  const told = 1 + Math.ceil(periodUs / STEP_US);
  const begins = runsOf(answer.length, isActing, RESTS).filter(
    ([from]) => from >= RESTS && !Array.from({ length: RESTS }, (_, k) => isActing(from - 1 - k)).includes(true),
  );
  const late = begins.filter(([from]) => off[from + told] === 1).length;
  return late >= LATE_TIMES && late >= LATE_SHARE * begins.length;
}

function enableOf(flag: Prepared, loop: Loop, off: number): Omit<Enable, 'q'> | null {
  const { leader, follower } = loop.told;
  const stands = flagIs(flag, off, loop.answer.length);
  const found = heldWhile(loop, stands, flag.field.periodUs);
  if (!found || found.refused < TIMES_LEAST || found.refused < REFUSED_LEAST * found.asked) return null;
  if (found.despite > DESPITE_MOST || found.otherwise > OTHERWISE_MOST) return null;
  if (comesAfter(loop, stands, flag.field.periodUs)) return null;
  const turns = runsOf(stands.length, (k) => stands[k] === 0, 1).length;
  if (!isOfSender(flag, leader) && (turns < TURNS_SURE || found.refused < REFUSED_SURE)) return null;
  return {
    flag,
    command: leader,
    acting: follower,
    value: flag.field.least + flag.field.greatest - off,
    turns,
    asked: found.asked,
    refused: found.refused,
    without: found.despite,
    agreement: agreement(found.blocks, found.held),
    p: chanceOf(found.blocks, found.held),
  };
}

/** commands: what leads and what answers it. */
export function enablesOf(fields: readonly Prepared[], commands: readonly Told[], lengthUs: number): Enable[] {
  const points = pointsOf(lengthUs);
  const flags = fields.filter(isFlag);
  const tried = commands.flatMap((told) => {
    const loop = loopOf(told, points);
    return flags
      .filter((flag) => !isOfSender(flag, told.follower))
      .flatMap((flag) => [flag.field.least, flag.field.greatest].map((off) => enableOf(flag, loop, off)));
  });
  return claimed(tried, CLAIM_Q);
}
