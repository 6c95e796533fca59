/**
 * A flag that stands normally in one value and in the other one while something is wrong: while a module is silent (lost communication), while a value beside it
 * shows that there is no data, while what is asked for is not done. Told where that came about at least twice and at no other time; chance by
 * circular shifts, false discovery over all flags and troubles of a kind.
 */
import type { FrameTable } from '../../frames/table.ts';
import { isFlag, isOfSender } from './enables.ts';
import { heldWhile, loopOf, type Loop } from './held.ts';
import {
  agreement,
  chanceOf,
  claimed,
  flagIs,
  pointsOf,
  runsOf,
  settled,
  STEP_US,
  topCode,
  UNKNOWN,
  type Course,
} from './instants.ts';
import type { Prepared } from './prepared.ts';
import { silencesOf, type Silent } from './silences.ts';
import type { Told } from './told.ts';

const CLAIM_Q = 0.05;
const TIMES_LEAST = 2;
/** Share of the time that it stands in its normal value, and of the trouble that it stands in the other. */
const NORMAL_LEAST = 0.75;
const TELLS_LEAST = 0.95;
const FALSE_MOST = 0.005;
/** What is asked for may be held back by other things too. */
const HELD_OTHERWISE = 0.3;
/** Points within which a lost partner is missed and is back again. */
const MISSED = 10;
const BACK = 5;
const LONG = 3;
/** A number shows no data by its highest code so seldom at most. */
const NO_DATA_MOST = 0.3;

export type Trouble = 'silent' | 'no data' | 'not done';

export interface Fault {
  readonly flag: Prepared;
  readonly trouble: Trouble;
  /** The value that shows no data, or what does not do what it is asked for. */
  readonly of: Prepared | null;
  readonly silent: string | null;
  readonly value: number;
  readonly times: number;
  readonly agreement: number;
  readonly p: number;
  readonly q: number;
}

interface Alarm {
  readonly flag: Prepared;
  readonly value: number;
  readonly on: Course;
}

/** Each flag that mostly stands in one value. */
function alarmsOf(fields: readonly Prepared[], points: number): Alarm[] {
  return fields.filter(isFlag).flatMap((flag): Alarm[] => {
    const { least, greatest } = flag.field;
    const on = flagIs(flag, greatest, points);
    const known = on.filter((is) => is !== UNKNOWN);
    const share = known.reduce((sum, is) => sum + is, 0) / Math.max(1, known.length);
    if (share <= 1 - NORMAL_LEAST) return [{ flag, value: greatest, on }];
    return share >= NORMAL_LEAST ? [{ flag, value: least, on: flagIs(flag, least, points) }] : [];
  });
}

const shareOf = (on: Course, trouble: Course, is: number): { share: number; n: number } => {
  let [n, set] = [0, 0];
  trouble.forEach((here, k) => {
    if (here !== is || on[k] === UNKNOWN) return;
    n++;
    set += on[k] as number;
  });
  return { share: n > 0 ? set / n : 0, n };
};

type Found = Omit<Fault, 'q'>;
type About = Pick<Fault, 'trouble' | 'of' | 'silent'>;

const toldBy = ({ flag, value }: Alarm, about: About, times: number, a: Course, b: Course): Found => ({
  flag,
  value,
  ...about,
  times,
  agreement: agreement(a, b),
  p: chanceOf(a, b),
});

/** The flag stands for the trouble, and for nothing else. trouble: unknown where the flag may not have turned yet. */
function standsFor(alarm: Alarm, trouble: Course, about: About): Found | null {
  const { on } = alarm;
  const times = runsOf(on.length, (k) => trouble[k] === 1 && on[k] === 1, LONG).length;
  if (times < TIMES_LEAST) return null;
  if (shareOf(on, trouble, 1).share < TELLS_LEAST || shareOf(on, trouble, 0).share > FALSE_MOST) return null;
  return toldBy(alarm, about, times, on, trouble);
}

/** While it stands, nothing that is asked for is done; else mostly all is. */
function stops(alarm: Alarm, loop: Loop, about: About): Found | null {
  const found = heldWhile(loop, alarm.on, alarm.flag.field.periodUs);
  if (!found || found.refused < TIMES_LEAST || found.refused < found.asked || found.despite > FALSE_MOST) return null;
  if (found.otherwise > HELD_OTHERWISE) return null;
  return toldBy(alarm, about, found.refused, found.blocks, found.held);
}

/** Unknown while a partner may not have been missed yet, or not be back again. */
function missedOf({ spans }: Silent, points: number): Course {
  const course = new Int8Array(points);
  for (const [fromUs, toUs] of spans) {
    const [from, to] = [Math.floor(fromUs / STEP_US), Math.ceil(toUs / STEP_US)];
    course.fill(1, from, to);
    course.fill(UNKNOWN, from, Math.min(to, from + MISSED));
    course.fill(UNKNOWN, to, Math.min(points, to + BACK));
  }
  return course;
}

function noDataOf(field: Prepared, points: number): Course | null {
  const course = topCode(field, points);
  const known = course.filter((is) => is !== UNKNOWN);
  const share = known.reduce((sum, is) => sum + is, 0) / Math.max(1, known.length);
  if (share === 0 || share > NO_DATA_MOST) return null;
  return runsOf(points, (k) => course[k] === 1, LONG).length >= TIMES_LEAST ? settled(course, BACK) : null;
}

export function faultsOf(
  fields: readonly Prepared[],
  commands: readonly Told[],
  table: FrameTable,
  senderOf: Parameters<typeof silencesOf>[1],
): Fault[] {
  const points = pointsOf(table.endUs);
  const alarms = alarmsOf(fields, points);
  const silences = silencesOf(table, senderOf).map((silent) => ({ silent, trouble: missedOf(silent, points) }));
  const lost = silences.flatMap(({ silent, trouble }) =>
    alarms
      .filter(({ flag }) => !silent.streams.has(flag.candidate.stream))
      .map((alarm) => standsFor(alarm, trouble, { trouble: 'silent', of: null, silent: silent.name })),
  );
  const empty = fields
    .filter(({ candidate }) => candidate.field.kind === 'number')
    .flatMap((field) => {
      const trouble = noDataOf(field, points);
      if (!trouble) return [];
      return alarms
        .filter(({ flag }) => isOfSender(flag, field))
        .map((alarm) => standsFor(alarm, trouble, { trouble: 'no data', of: field, silent: null }));
    });
  const undone = commands.flatMap((told) => {
    const loop = loopOf(told, points);
    return alarms
      .filter(({ flag }) => isOfSender(flag, told.follower))
      .map((alarm) => stops(alarm, loop, { trouble: 'not done', of: told.follower, silent: null }));
  });
  return [lost, empty, undone].flatMap((tried) => claimed(tried, CLAIM_Q));
}
