/**
 * The person who marks: late by a reaction (simple visual 150-300 ms, choice 350-450 ms, the ranges that textbooks of psychology give),
 * sometimes early where it is announced, missing some, marking what was not done, on a clock of their own.
 */
import type { Mark } from '../../../src/actions/types.ts';
import type { Random } from '../../../src/kit/random.ts';
import { chance } from '../stranger/draw.ts';
import type { Doing, MarkedAs } from './truth.ts';

export const CLOCKS = ['seconds', 'hours', 'drifting'] as const;
export type ClockKind = (typeof CLOCKS)[number];

interface Person {
  readonly reactionS: number;
  readonly spreadS: number;
  /** Says it before doing it: probability for each action. */
  readonly announces: number;
  readonly misses: number;
  readonly extras: number;
  readonly aheadS: number;
  readonly driftPpm: number;
}

function drawPerson(random: Random, clock: ClockKind): Person {
  const seconds = random.between(-15, 15);
  const hours = clock === 'hours' ? random.pick([-9, -8, -7, -6, -5, -4, -3, -2, -1, 1, 2, 3, 5, 8, 10]) : 0;
  return {
    reactionS: random.between(0.18, 0.48),
    spreadS: random.between(0.04, 0.14),
    announces: chance(random, 0.3) ? 0.08 : 0,
    misses: random.between(0, 0.1),
    extras: random.between(0, 0.06),
    aheadS: hours === 0 ? seconds : hours * 3600 + seconds / 5,
    driftPpm: clock === 'drifting' ? random.pick([-1, 1]) * random.between(200, 1500) : 0,
  };
}

const reaction = (random: Random, { reactionS, spreadS, announces }: Person): number =>
  chance(random, announces) ? -random.between(0.2, 0.6) : Math.max(0.08, reactionS + random.normal() * spreadS);

interface Noted {
  readonly mark: Mark;
  readonly lateS: number;
}

/**
 * Marks of what was done, on the person's clock. firstS: true time of the capture's first frame; epochS: of the true time 0, or null for
 * marks in seconds from the capture's origin.
 */
export function markDoings(
  random: Random,
  doings: readonly Doing[],
  seconds: number,
  clock: ClockKind,
  firstS: number,
  epochS: number | null,
): MarkedAs {
  const person = drawPerson(random, clock);
  const { aheadS, driftPpm, misses, extras } = person;
  const middleS = seconds / 2;
  const own = (trueS: number): number =>
    (epochS === null ? -firstS : epochS) + trueS + aheadS + (trueS - middleS) * driftPpm * 1e-6;
  const written = (trueS: number): number => Math.round(own(trueS) * 1000) / 1000;
  const noted = doings
    .filter(() => !chance(random, misses))
    .map(({ action, startS, endS, value }): Noted => {
      const lateS = reaction(random, person);
      const shownEnd = endS === null ? null : written(endS + Math.max(lateS - 0.05, reaction(random, person)));
      const mark = { action, startS: written(startS + lateS), endS: shownEnd, ...(value === null ? {} : { value }) };
      return { mark: { ...mark, endS: shownEnd === null ? null : Math.max(mark.startS + 0.05, shownEnd) }, lateS };
    });
  const wrong = doings
    .filter(({ value }) => value === null && chance(random, extras))
    .map(({ action, endS }): Mark => {
      const startS = written(random.between(2, seconds - 3));
      return { action, startS, endS: endS === null ? null : startS + random.between(0.4, 1.5) };
    });
  const marks = [...noted.map(({ mark }) => mark), ...wrong].sort((a, b) => a.startS - b.startS);
  const meanLateS = noted.reduce((sum, { lateS }) => sum + lateS, 0) / Math.max(1, noted.length);
  const timeBase = epochS === null ? 'capture' : 'epoch';
  return { file: { marks, timeBase }, offsetS: -aheadS - meanLateS, driftPpm };
}
