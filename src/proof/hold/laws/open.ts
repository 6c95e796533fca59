/** How much a physical law leaves open in a capture, as a share of its last member's variance; and by what ratio it holds. */
import { variance } from '../../../kit/statistics/order.ts';
import { knownIn, picked, through, without, type Course } from './course.ts';
import type { LawName } from './members.ts';

export interface LawFigures {
  readonly open: number;
  readonly n: number;
  /** Raw values of the last by those of the first; null where the law has none. */
  readonly ratio: number | null;
}

interface Told {
  readonly part: string;
  readonly course: Course;
}

const countsOf = (members: readonly Told[]): Float64Array[] => members.map(({ course }) => course.counts);
const partOf = (members: readonly Told[], part: string): Float64Array | undefined =>
  members.find((each) => each.part === part)?.course.counts;

/** One speed may lack the sign that the other has. */
function ratioOf(members: readonly Told[]): LawFigures | null {
  const all = countsOf(members);
  const at = knownIn(all);
  const [x, y] = all.map((each) => picked(each, at));
  if (!x || !y) return null;
  const [signed, sizes] = [through(x, y), through(x.map(Math.abs), y.map(Math.abs))];
  const best = sizes.open < signed.open ? sizes : signed;
  return { open: best.open, n: at.length, ratio: best.slope };
}

/** What torque and speed each explain alone is taken out first: their zeros need not be known. */
function powerOf(members: readonly Told[]): LawFigures | null {
  const [torque, speed, power] = ['torque', 'speed', 'power'].map((part) => partOf(members, part));
  if (!torque || !speed || !power) return null;
  const at = knownIn([torque, speed, power]);
  const [t, w, i] = [torque, speed, power].map((each) => picked(each, at)) as [
    Float64Array,
    Float64Array,
    Float64Array,
  ];
  const left = without(i, t, w);
  const product = without(
    t.map((value, k) => value * (w[k] as number)),
    t,
    w,
  );
  return { open: (through(product, left).open * variance(left)) / variance(i), n: at.length, ratio: null };
}

function chargeOf(members: readonly Told[]): LawFigures | null {
  const [current, level] = [partOf(members, 'current'), partOf(members, 'level')];
  if (!current || !level) return null;
  const at = knownIn([current, level]);
  let sum = 0;
  const summed = Float64Array.from(at, (k) => (sum += current[k] as number));
  const time = Float64Array.from(at);
  return { open: through(without(summed, time), without(picked(level, at), time)).open, n: at.length, ratio: null };
}

function cellsOf(members: readonly Told[]): LawFigures | null {
  const whole = partOf(members, 'sum');
  const cells = members.filter(({ part }) => part === 'cell');
  if (!whole || cells.length === 0) return null;
  const at = knownIn([whole, ...countsOf(cells)]);
  const sum = Float64Array.from(at, (k) =>
    cells.reduce((total, { course }) => total + (course.counts[k] as number), 0),
  );
  const { open, slope } = through(sum, picked(whole, at));
  return { open, n: at.length, ratio: slope };
}

/** Of the one that goes least with the middle of all. */
function alikeOf(members: readonly Told[]): LawFigures | null {
  const all = members.map(({ course }) => course.physical);
  const at = knownIn(all);
  if (all.length < 2 || at.length === 0) return null;
  const mean = Float64Array.from(at, (k) => all.reduce((sum, each) => sum + (each[k] as number), 0) / all.length);
  const opens = all.map((each) => through(mean, picked(each, at)).open);
  return { open: Math.max(...opens), n: at.length, ratio: null };
}

const FIGURES: Record<LawName, (members: readonly Told[]) => LawFigures | null> = {
  'alike-speeds': alikeOf,
  'constant-ratio': ratioOf,
  'power-balance': powerOf,
  'charge-sum': chargeOf,
  'cell-sum': cellsOf,
};

/** Null where a member is missing. */
export const figuresOf = (law: LawName, members: readonly Told[]): LawFigures | null => FIGURES[law](members);
