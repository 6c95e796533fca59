/** Speeds among each other: several alike in one frame (wheels), and a fixed ratio between two senders (motor and vehicle). */
import type { Prepared } from '../roles/prepared.ts';
import { chanceOf, correlation, knownIn, lineThrough, picked, type Fit } from './grid.ts';
import type { Trial } from './trial.ts';

/** Wheels differ by slip and curves, by a few percent; each may have a scale of its own. */
const ALIKE_OPEN = 0.05;
const ALIKE_LEAST = 3;
const RATIO_OPEN = 0.02;
/** Where the line meets zero, as a share of the range. */
const ZERO_SHARE = 0.03;

export interface OnGrid {
  readonly field: Prepared;
  readonly course: Float64Array;
}

interface Paired extends Fit {
  readonly x: Float64Array;
  readonly y: Float64Array;
}

function paired(a: OnGrid, b: OnGrid, size = false): Paired | null {
  const at = knownIn(a.course, b.course);
  if (at.length < 100) return null;
  const [x, y] = [a, b]
    .map(({ course }) => picked(course, at))
    .map((values) => (size ? values.map(Math.abs) : values)) as [Float64Array, Float64Array];
  return { x, y, ...lineThrough(x, y) };
}

const rangeOf = (values: Float64Array): number => {
  let [least, greatest] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const value of values) {
    least = Math.min(least, value);
    greatest = Math.max(greatest, value);
  }
  return greatest - least;
};

const meetsZero = ({ y, offset }: Paired): boolean => Math.abs(offset) <= ZERO_SHARE * rangeOf(y);

const isAlike = (pair: Paired | null): pair is Paired =>
  pair !== null && pair.slope > 0 && pair.open <= ALIKE_OPEN && meetsZero(pair);

/** What stands at zero for some time is a speed; cells of a pack are alike too, and never near zero. */
function restsAtZero(course: Float64Array): boolean {
  const known = course.filter((value) => !Number.isNaN(value));
  const most = known.reduce((greatest, value) => Math.max(greatest, Math.abs(value)), 0);
  return known.some((value) => Math.abs(value) < 0.05 * most);
}

/** speeds: numbers that are a sum over time of something else. */
export function alikeSpeeds(speeds: readonly OnGrid[]): Trial[] {
  const left = new Set(speeds.filter(({ course }) => restsAtZero(course)));
  const trials: Trial[] = [];
  for (const first of left) {
    left.delete(first);
    const others = [...left].filter((other) => other.field.candidate.stream === first.field.candidate.stream);
    if (others.length + 1 < ALIKE_LEAST) continue;
    const pairs = others.map((other) => ({ other, pair: paired(first, other) }));
    const alike = pairs.flatMap(({ other, pair }) => (isAlike(pair) ? [{ other, pair }] : []));
    const holds = alike.length + 1 >= ALIKE_LEAST;
    alike.forEach(({ other }) => left.delete(other));
    trials.push({
      check: 'alike-speeds',
      members: [first, ...(holds ? alike.map(({ other }) => other) : [])].map(({ field }) => ({
        part: 'speed',
        place: field.place,
      })),
      residual: Math.max(0, ...alike.map(({ pair }) => pair.open)),
      n: Math.min(...pairs.map(({ pair }) => pair?.x.length ?? 0)),
      p: holds ? Math.max(...alike.map(({ pair }) => chanceOf(pair.x, pair.y))) : 1,
      holds,
      figures: {},
    });
  }
  return trials;
}

/** Each speed with the one of another frame that it follows best by a fixed ratio; one may lack the sign that the other has. */
export function constantRatios(speeds: readonly OnGrid[]): Trial[] {
  return speeds.flatMap((one, i): Trial[] => {
    const others = speeds.slice(i + 1).filter(({ field }) => field.candidate.stream !== one.field.candidate.stream);
    const pairs = others.flatMap((other) => {
      const signed = paired(one, other);
      const sizes = paired(one, other, true);
      const best = signed && sizes && sizes.open < signed.open ? sizes : signed;
      return best ? [{ other, best }] : [];
    });
    return pairs.map(({ other, best }): Trial => {
      const holds = best.open <= RATIO_OPEN && meetsZero(best) && correlation(best.x, best.y) > 0;
      return {
        check: 'constant-ratio',
        members: [one, other].map(({ field }) => ({ part: 'speed', place: field.place })),
        residual: best.open,
        n: best.x.length,
        p: holds ? chanceOf(best.x, best.y) : 1,
        holds,
        figures: { ratio: best.slope },
      };
    });
  });
}
