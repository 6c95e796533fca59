/**
 * Power and charge: a current that goes with the product of a torque and a speed where neither does alone, and a level that goes with the sum over
 * time of that current. Zeros of the raw values need not be known: what the factors explain by themselves is taken out of the product and of the current.
 */
import { normalBelow } from '../../kit/statistics/distributions.ts';
import { chanceOf, correlation, correlationAt, fisher, knownIn, lineThrough, picked } from './grid.ts';
import type { OnGrid } from './speeds.ts';
import type { Trial } from './trial.ts';

/** Of what the factors alone leave open in the current, the product must explain this share. */
const EXPLAINS = 0.6;
const OPEN_MOST = 0.15;
const LEVEL_OPEN = 0.3;
const LEVEL_VALUES = 5;

/** What a straight line in two others leaves of a course: twice a line through one, the second after the first was taken out of it. */
function without(y: Float64Array, ...others: readonly Float64Array[]): Float64Array {
  let [left, rest] = [y, others];
  while (rest.length > 0) {
    const [first, ...more] = rest as [Float64Array, ...Float64Array[]];
    left = leftOf(first, left);
    rest = more.map((other) => leftOf(first, other));
  }
  return left;
}

function leftOf(x: Float64Array, y: Float64Array): Float64Array {
  const { slope, offset } = lineThrough(x, y);
  return y.map((value, k) => value - offset - slope * (x[k] as number));
}

const spreadOf = (values: Float64Array): number => {
  const mean = values.reduce((sum, value) => sum + value, 0) / Math.max(1, values.length);
  return values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
};

/** A torque and a speed, and what their product shows that neither does: [at.length] of each. */
interface Factors {
  readonly torque: OnGrid;
  readonly speed: OnGrid;
  readonly at: readonly number[];
  readonly t: Float64Array;
  readonly w: Float64Array;
  /** The speed less what goes with the torque. */
  readonly wLeft: Float64Array;
  readonly power: Float64Array;
}

function factorsOf(torque: OnGrid, speed: OnGrid): Factors {
  const at = knownIn(torque.course, speed.course);
  const [t, w] = [picked(torque.course, at), picked(speed.course, at)];
  const product = t.map((value, k) => value * (w[k] as number));
  return { torque, speed, at, t, w, wLeft: leftOf(t, w), power: without(product, t, w) };
}

/** Cost: a product of courses for each combination, more only for those that go together. */
export function powerBalances(
  torques: readonly OnGrid[],
  speeds: readonly OnGrid[],
  currents: readonly OnGrid[],
): Trial[] {
  return torques.flatMap((torque) =>
    speeds.flatMap((speed) => {
      if (speed === torque) return [];
      const factors = factorsOf(torque, speed);
      return currents.flatMap((current) => balanceOf(factors, current));
    }),
  );
}

function trialOf({ torque, speed }: Factors, current: OnGrid, n: number, explained: number, open: number): Trial {
  return {
    check: 'power-balance',
    members: [
      { part: 'torque', place: torque.field.place },
      { part: 'speed', place: speed.field.place },
      { part: 'power', place: current.field.place },
    ],
    residual: open,
    n,
    p: 1,
    holds: false,
    figures: { explained },
  };
}

/** What the product explains of the whole current, below which a closer look is not worth it. */
const SCREENED = 0.01;

/** A current, the power beside it, and what the factors alone leave of the current. */
interface Beside {
  readonly i: Float64Array;
  readonly power: Float64Array;
  readonly left: Float64Array;
}

function knownAlways({ at, t, wLeft, power }: Factors, current: OnGrid): Beside {
  const i = picked(current.course, at);
  return { i, power, left: leftOf(wLeft, leftOf(t, i)) };
}

function knownAtTimes({ at, t, w, power }: Factors, current: OnGrid): Beside {
  const rows = Array.from(at.keys()).filter((k) => !Number.isNaN(current.course[at[k] as number] as number));
  const i = Float64Array.from(rows, (k) => current.course[at[k] as number] as number);
  return { i, power: picked(power, rows), left: without(i, picked(t, rows), picked(w, rows)) };
}

function balanceOf(factors: Factors, current: OnGrid): Trial[] {
  const { torque, speed, at } = factors;
  if (current === torque || current === speed) return [];
  const whole = correlationAt(factors.power, current.course, at);
  if (whole.n < 200) return [];
  if (whole.r ** 2 < SCREENED) return [trialOf(factors, current, whole.n, 0, 1)];
  const { i, power, left } = whole.n === at.length ? knownAlways(factors, current) : knownAtTimes(factors, current);
  const r = correlation(power, left);
  const open = ((1 - r * r) * spreadOf(left)) / spreadOf(i);
  const trial = trialOf(factors, current, whole.n, r * r, open);
  if (r * r < EXPLAINS || open > OPEN_MOST) return [trial];
  return [{ ...trial, holds: true, p: chanceOf(power, left) }];
}

/** Sum over time; a current whose zero is not known adds a straight line, which is taken out of both. */
function summed(course: Float64Array): Float64Array {
  let sum = 0;
  return course.map((value) => (sum += value));
}

export function chargeSums(levels: readonly OnGrid[], currents: readonly OnGrid[]): Trial[] {
  return levels.flatMap((level) =>
    currents.flatMap((current): Trial[] => {
      const at = knownIn(level.course, current.course);
      if (level === current || at.length < 200 || level.field.field.distinct < LEVEL_VALUES) return [];
      const [l, i] = [picked(level.course, at), picked(current.course, at)];
      const time = Float64Array.from(at);
      const [leftLevel, leftSum] = [without(l, time), without(summed(i), time)];
      const r = correlation(leftSum, leftLevel);
      const holds = 1 - r * r <= LEVEL_OPEN;
      return [
        {
          check: 'charge-sum',
          members: [
            { part: 'current', place: current.field.place },
            { part: 'level', place: level.field.place },
          ],
          residual: 1 - r * r,
          n: at.length,
          p: holds ? chanceOfSum(i, leftLevel, time, r) : 1,
          holds,
          figures: { explained: r * r },
        },
      ];
    }),
  );
}

const SHIFTS = 199;

/** Sums wander whatever they are sums of: held against sums of the current shifted in a circle, their spread as a normal's. */
function chanceOfSum(current: Float64Array, level: Float64Array, time: Float64Array, r: number): number {
  const n = current.length;
  let squares = 0;
  for (let k = 1; k <= SHIFTS; k++) {
    const shift = Math.floor((k * n) / (SHIFTS + 1));
    const turned = current.map((_, j) => current[(j + shift) % n] as number);
    squares += fisher(correlation(without(summed(turned), time), level)) ** 2;
  }
  return Math.min(1, 2 * normalBelow(-Math.abs(fisher(r)) / Math.sqrt(squares / SHIFTS)));
}
