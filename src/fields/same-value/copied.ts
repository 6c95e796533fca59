/**
 * What a copy cannot lack and a physical relation cannot give. Where a value rests, reading between frames costs nothing, so that a copy leaves the two
 * roundings and no more, while two measurements keep their own noise. And each border between two levels of the coarser one is crossed at one value of
 * the finer: there the coarser is known to far better than its step, by how far the finer moves from frame to frame (an error even over that has a
 * twelfth of its square as variance). Last, units are decimal or binary: one value in two units has a ratio of powers of two and five and a shared zero.
 */
import { ValueReader, type Paired } from './pairs.ts';
import type { ComparedField } from './series.ts';

export interface Copied {
  /** Variance left while the value rests, over that of rounding both: 1 or less for a copy; NaN where too little is seen. */
  readonly resting: number;
  /** The same over what rounding of both and the way between frames allow. */
  readonly restingAllowed: number;
  /** Variance left where the other crosses a border while the value rests, over what rounding of the base and its way between frames allow; NaN likewise. */
  readonly crossing: number;
}

/** Variance of an error that lies evenly over a width of one. */
const EVEN = 1 / 12;
/** The third of the points where the base moves least is where the value rests. */
const RESTING_SHARE = 1 / 3;
const RESTING_LEAST = 20;
const CROSSINGS_LEAST = 10;
/** A knot halfway between two values, give or take: a border was crossed. */
const HALFWAY = 0.05;

interface Point {
  readonly left: number;
  /** How far the base moves within both periods, in steps of the other. */
  readonly moved: number;
  readonly isCrossing: boolean;
}

function pointsOf(
  base: ComparedField,
  other: ComparedField,
  { atUs, x, y }: Paired,
  lagUs: number,
  scale: number,
  residual: Float64Array,
): Point[] {
  const [before, after] = [new ValueReader(base, 'value'), new ValueReader(base, 'value')];
  const reachUs = base.periodUs + other.periodUs;
  const points: Point[] = [];
  residual.forEach((left, k) => {
    const [thereUs, here] = [(atUs[k] as number) - lagUs, x[k] as number];
    const ways = [before.at(thereUs - reachUs), after.at(thereUs + reachUs)].map((value) => Math.abs(value - here));
    const moved = Math.abs(scale) * Math.max(...ways);
    const level = ((y[k] as number) - other.least) / other.quantum;
    const isCrossing = Math.abs(level - Math.floor(level) - 0.5) <= HALFWAY;
    if (!Number.isNaN(moved)) points.push({ left, moved, isCrossing });
  });
  return points.sort((a, b) => a.moved - b.moved);
}

const resting = (points: readonly Point[]): readonly Point[] =>
  points.slice(0, Math.max(RESTING_LEAST, Math.floor(RESTING_SHARE * points.length)));

const meanSquare = (points: readonly Point[], by: 'left' | 'moved'): number =>
  points.reduce((sum, point) => sum + point[by] ** 2 / points.length, 0);

/** residual: of each pair; far: those beyond count as wild, not as a border crossed elsewhere. */
export function copied(
  base: ComparedField,
  other: ComparedField,
  pairs: Paired,
  line: { readonly lagUs: number; readonly scale: number },
  residual: Float64Array,
  far: number,
): Copied {
  const points = pointsOf(base, other, pairs, line.lagUs, line.scale, residual);
  const still = resting(points);
  const crossings = resting(points.filter(({ isCrossing }) => isCrossing)).filter(({ left }) => Math.abs(left) <= far);
  const baseStep = (line.scale * base.quantum) ** 2;
  const bothSteps = other.quantum ** 2 + baseStep;
  const rested = still.length < RESTING_LEAST ? Number.NaN : meanSquare(still, 'left') / EVEN;
  const crossed = crossings.length < CROSSINGS_LEAST ? Number.NaN : meanSquare(crossings, 'left') / EVEN;
  return {
    resting: rested / bothSteps,
    restingAllowed: rested / (bothSteps + meanSquare(still, 'moved')),
    crossing: crossed / (baseStep + meanSquare(crossings, 'moved')),
  };
}

/** A ratio known no better than so fits some round one by luck. */
const RATIO_ERROR = 0.004;
/** As near as this, or three of its errors, it is the round one; never further off than the last. */
const ROUND = 0.001;
const ROUND_MOST = 0.01;
const FIVES_MOST = 3;

/** Whether the ratio is 2^a 5^b within its error, and zero is zero to a step of the coarser: two units of one value. */
export function isRoundRatio(
  { scale, scaleSe, offset }: { readonly scale: number; readonly scaleSe: number; readonly offset: number },
  coarserStep: number,
): boolean {
  const size = Math.abs(scale);
  const error = scaleSe / size;
  if (!(error <= RATIO_ERROR) || Math.abs(offset) > coarserStep) return false;
  const near = Math.min(ROUND_MOST, Math.max(ROUND, 3 * error));
  for (let fives = -FIVES_MOST; fives <= FIVES_MOST; fives++) {
    const octaves = Math.log2(size / 5 ** fives);
    if (Math.LN2 * Math.abs(octaves - Math.round(octaves)) < near) return true;
  }
  return false;
}
