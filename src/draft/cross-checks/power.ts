/**
 * Power and charge: a current that goes with the product of a torque and a speed where neither does alone, and a level that goes with the sum over
 * time of that current. Zeros of the raw values need not be known: what the factors explain by themselves is taken out of the product and of the current.
 */
import { normalBelow } from '../../kit/statistics/distributions.ts';
import { chanceOf, correlation, knownIn, lineThrough } from './grid.ts';
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

const pick = (course: Float64Array, at: readonly number[]): Float64Array =>
  Float64Array.from(at, (k) => course[k] as number);

export function powerBalances(
  torques: readonly OnGrid[],
  speeds: readonly OnGrid[],
  currents: readonly OnGrid[],
): Trial[] {
  return torques.flatMap((torque) =>
    speeds.flatMap((speed) => currents.flatMap((current) => balanceOf(torque, speed, current))),
  );
}

function balanceOf(torque: OnGrid, speed: OnGrid, current: OnGrid): Trial[] {
  if (new Set([torque, speed, current]).size < 3) return [];
  const at = knownIn(torque.course, speed.course, current.course);
  if (at.length < 200) return [];
  const [t, w, i] = [pick(torque.course, at), pick(speed.course, at), pick(current.course, at)];
  const product = t.map((value, k) => value * (w[k] as number));
  const [left, power] = [without(i, t, w), without(product, t, w)];
  const r = correlation(power, left);
  const open = ((1 - r * r) * spreadOf(left)) / spreadOf(i);
  const holds = r * r >= EXPLAINS && open <= OPEN_MOST;
  return [
    {
      check: 'power-balance',
      members: [
        { part: 'torque', place: torque.field.place },
        { part: 'speed', place: speed.field.place },
        { part: 'power', place: current.field.place },
      ],
      residual: open,
      n: at.length,
      p: holds ? chanceOf(power, left) : 1,
      holds,
      figures: { explained: r * r },
    },
  ];
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
      const [l, i] = [pick(level.course, at), pick(current.course, at)];
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
const fisher = (r: number): number => Math.atanh(Math.max(-0.999999, Math.min(0.999999, r)));

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
