/**
 * How one field follows another: how much later, and whether as a copy or as something with a memory of its own. Every pair of a pure delay and
 * a time constant is a straight line to fit; sums are kept by stretch of the capture, so that the intervals come of drawing stretches
 * again (the block bootstrap: Künsch 1989, "The jackknife and the bootstrap for general stationary observations").
 */
import type { Random } from '../../kit/random.ts';
import { knownMean, quantileSorted, sorted } from '../../kit/statistics/order.ts';
import { readAt, type Course } from './course.ts';
import type { Instants } from './moving.ts';

export interface Cell {
  /** How much later in all: pure delay and time constant together. */
  readonly lagUs: number;
  readonly constantUs: number;
}

const SUMS = 6;

/** one: the answer's size is the leader's times a scale; own: each stretch has a size of its own, as of what limits hold back, but one direction for all. */
export type Sizes = 'one' | 'own';

/** [cells x stretches x SUMS] n, x, y, xx, xy, yy. */
interface Sums {
  readonly cells: readonly Cell[];
  readonly stretches: number;
  readonly sum: Float64Array;
  readonly sizes: Sizes;
}

/** courses: the leader as followed with each cell's time constant. Instants of a stretch lie side by side. */
export function sumUp(
  cells: readonly Cell[],
  courses: ReadonlyMap<number, Course>,
  instants: Instants,
  sizes: Sizes = 'one',
): Sums {
  const { value, stretches } = instants;
  const sum = new Float64Array(cells.length * stretches * SUMS);
  // Sums of squares of far-off values would lose digits.
  const [middleX, middleY] = [knownMean(courses.get(0)?.value ?? value), knownMean(value)];
  cells.forEach(({ lagUs, constantUs }, cell) =>
    addCell(courses.get(constantUs) as Course, lagUs - constantUs, instants, [middleX, middleY], sum, cell),
  );
  return { cells, stretches, sum, sizes };
}

/** Sums of one cell, those of a stretch in hand while its instants last: this is most of the work of a run. */
function addCell(
  course: Course,
  delayUs: number,
  { timeUs, value, stretch, stretches }: Instants,
  [middleX, middleY]: readonly [number, number],
  sum: Float64Array,
  cell: number,
): void {
  let i = 0;
  while (i < timeUs.length) {
    const here = stretch[i] as number;
    let [n, sx, sy, sxx, sxy, syy] = [0, 0, 0, 0, 0, 0];
    for (; i < timeUs.length && stretch[i] === here; i++) {
      const x = readAt(course, (timeUs[i] as number) - delayUs) - middleX;
      if (Number.isNaN(x)) continue;
      const y = (value[i] as number) - middleY;
      n++;
      sx += x;
      sy += y;
      sxx += x * x;
      sxy += x * y;
      syy += y * y;
    }
    sum.set([n, sx, sy, sxx, sxy, syy], (cell * stretches + here) * SUMS);
  }
}

export interface Line {
  readonly n: number;
  readonly scale: number;
  /** Share of the follower's variance that the line leaves open. */
  readonly unexplained: number;
  readonly residualSd: number;
}

const NO_LINE: Line = { n: 0, scale: 0, unexplained: 1, residualSd: 0 };

/** Sums of squares about the means. */
interface Spreads {
  readonly sxx: number;
  readonly sxy: number;
  readonly syy: number;
}

/** Of the sums from `at` on. */
function spreadsAt(sums: Float64Array, at: number): Spreads {
  const n = sums[at] as number;
  if (n < 3) return { sxx: 0, sxy: 0, syy: 0 };
  const [x, y] = [sums[at + 1] as number, sums[at + 2] as number];
  const [xx, xy, yy] = [sums[at + 3] as number, sums[at + 4] as number, sums[at + 5] as number];
  return { sxx: xx - (x * x) / n, sxy: xy - (x * y) / n, syy: yy - (y * y) / n };
}

const totals = new Float64Array(SUMS);

/** Over all stretches of a cell, into `totals`: without an object, as an interval takes a million of them. */
function addUp({ stretches, sum }: Sums, cell: number, weight: ArrayLike<number> | null): void {
  let [n, x, y] = [0, 0, 0];
  let [xx, xy, yy] = [0, 0, 0];
  let at = cell * stretches * SUMS;
  for (let stretch = 0; stretch < stretches; stretch++, at += SUMS) {
    const times = weight ? (weight[stretch] as number) : 1;
    if (times === 0) continue;
    n += times * (sum[at] as number);
    x += times * (sum[at + 1] as number);
    y += times * (sum[at + 2] as number);
    xx += times * (sum[at + 3] as number);
    xy += times * (sum[at + 4] as number);
    yy += times * (sum[at + 5] as number);
  }
  totals[0] = n;
  totals[1] = x;
  totals[2] = y;
  totals[3] = xx;
  totals[4] = xy;
  totals[5] = yy;
}

function oneLine(sums: Sums, cell: number, weight: ArrayLike<number> | null): Line {
  addUp(sums, cell, weight);
  const n = totals[0] as number;
  const { sxx, sxy, syy } = spreadsAt(totals, 0);
  if (!(sxx > 0) || !(syy > 0)) return { ...NO_LINE, n };
  const left = Math.max(0, syy - (sxy * sxy) / sxx);
  return { n, scale: sxy / sxx, unexplained: left / syy, residualSd: Math.sqrt(left / n) };
}

/** A line for each stretch; those that go against the others explain nothing. */
function ownLines({ stretches, sum }: Sums, cell: number, weight: ArrayLike<number> | null): Line {
  let [n, along, against, sxx, syy, sxy] = [0, 0, 0, 0, 0, 0];
  for (let stretch = 0; stretch < stretches; stretch++) {
    const times = weight ? (weight[stretch] as number) : 1;
    if (times === 0) continue;
    const at = (cell * stretches + stretch) * SUMS;
    const own = spreadsAt(sum, at);
    n += times * (sum[at] as number);
    syy += times * own.syy;
    if (!(own.sxx > 0)) continue;
    sxx += times * own.sxx;
    sxy += times * own.sxy;
    const explained = (times * own.sxy ** 2) / own.sxx;
    if (own.sxy > 0) along += explained;
    else against += explained;
  }
  if (!(sxx > 0) || !(syy > 0)) return { ...NO_LINE, n };
  const left = Math.max(0, syy - Math.max(along, against));
  return { n, scale: sxy / sxx, unexplained: left / syy, residualSd: Math.sqrt(left / n) };
}

export const lineAt = (sums: Sums, cell: number, weight: ArrayLike<number> | null = null): Line =>
  sums.sizes === 'own' ? ownLines(sums, cell, weight) : oneLine(sums, cell, weight);

export interface Best extends Cell, Line {}

/** [cells] what each leaves open. */
function openOf(sums: Sums, weight: ArrayLike<number> | null = null): Float64Array {
  const open = new Float64Array(sums.cells.length);
  for (let cell = 0; cell < open.length; cell++) open[cell] = lineAt(sums, cell, weight).unexplained;
  return open;
}

/** The first of the least; -1 where nothing is known. */
function leastOf(open: ArrayLike<number>): number {
  let at = -1;
  for (let k = 0; k < open.length; k++) if (at < 0 || (open[k] as number) < (open[at] as number)) at = k;
  return at;
}

/** The cell that leaves least open. */
export function bestOf(sums: Sums): Best {
  const at = leastOf(openOf(sums));
  return { ...(sums.cells[at] as Cell), ...lineAt(sums, at) };
}

/** Cells without a memory, by lag. */
const copyCells = ({ cells }: Sums): number[] =>
  [...cells.keys()]
    .filter((at) => (cells[at] as Cell).constantUs === 0)
    .sort((a, b) => (cells[a] as Cell).lagUs - (cells[b] as Cell).lagUs);

/**
 * What the best pure delay leaves open, between the delays tried: the bottom of the parabola through the three nearest, so that a copy
 * whose delay falls between two steps is not held against it. copies: `copyCells`.
 */
function leavesOf(open: ArrayLike<number>, copies: readonly number[]): number {
  let at = 0;
  for (let k = 1; k < copies.length; k++)
    if ((open[copies[k] as number] as number) < (open[copies[at] as number] as number)) at = k;
  const least = copies.length > 0 ? (open[copies[at] as number] as number) : Infinity;
  if (at === 0 || at >= copies.length - 1) return least;
  const [before, after] = [open[copies[at - 1] as number], open[copies[at + 1] as number]] as [number, number];
  const bend = before - 2 * least + after;
  return bend > 0 ? Math.max(0, least - (before - after) ** 2 / (8 * bend)) : least;
}

export const copyLeaves = (sums: Sums): number => leavesOf(openOf(sums), copyCells(sums));

export interface Spread {
  /** 95 % intervals. */
  readonly lagUs: readonly [number, number];
  readonly constantUs: readonly [number, number];
  /** What a copy leaves open over what a memory leaves open. */
  readonly gain: readonly [number, number];
}

const DRAWS = 200;

/** floor: share of the follower's variance that no model could explain, as values are rounded and sampled. */
export function spreadOf(sums: Sums, floor: number, random: Random): Spread {
  const { stretches } = sums;
  const [lag, constant, gain] = [new Float64Array(DRAWS), new Float64Array(DRAWS), new Float64Array(DRAWS)];
  const weight = new Uint16Array(stretches);
  const copies = copyCells(sums);
  for (let draw = 0; draw < DRAWS; draw++) {
    weight.fill(0);
    for (let k = 0; k < stretches; k++) weight[random.below(stretches)]!++;
    const open = openOf(sums, weight);
    const at = leastOf(open);
    const { lagUs, constantUs } = sums.cells[at] as Cell;
    lag[draw] = lagUs;
    constant[draw] = constantUs;
    gain[draw] = (leavesOf(open, copies) + floor) / ((open[at] as number) + floor);
  }
  const ends = (values: Float64Array): [number, number] => {
    const ascending = sorted(values);
    return [quantileSorted(ascending, 0.025), quantileSorted(ascending, 0.975)];
  };
  return { lagUs: ends(lag), constantUs: ends(constant), gain: ends(gain) };
}
