/** A signal's course over a capture on even steps, and lines through courses. */
import { ordinaryLine } from '../../../kit/statistics/line.ts';
import type { Counts } from '../counts.ts';

export interface Course {
  /** [points] as the coding gives them, before scale and offset; NaN where not sent. */
  readonly counts: Float64Array;
  /** [points] as the map decodes them. */
  readonly physical: Float64Array;
}

/** Points of the readings' grid, a tenth of a second each, that are taken together: frames come at other instants. */
const TOGETHER = 2;

function thinned(values: Float64Array): Float64Array {
  return Float64Array.from({ length: Math.floor(values.length / TOGETHER) }, (_, k) => {
    let sum = 0;
    for (let i = 0; i < TOGETHER; i++) sum += values[k * TOGETHER + i] as number;
    return sum / TOGETHER;
  });
}

export function courseOf(counts: Counts): Course {
  const own = thinned(counts.grid.value);
  return { counts: own, physical: own.map((value) => value * counts.scale + counts.offset) };
}

/** Points at which all are known. */
export function knownIn(courses: readonly Float64Array[]): number[] {
  const [first] = courses;
  return first ? [...first.keys()].filter((k) => courses.every((course) => !Number.isNaN(course[k] as number))) : [];
}

export const picked = (course: Float64Array, at: readonly number[]): Float64Array =>
  Float64Array.from(at, (k) => course[k] as number);

interface Through {
  readonly slope: number;
  /** Share of the second's variance that is left. */
  readonly open: number;
}

export function through(x: Float64Array, y: Float64Array): Through {
  const { scale, r2 } = ordinaryLine(x, y);
  return Number.isFinite(scale) ? { slope: scale, open: Math.max(0, 1 - r2) } : { slope: 0, open: 1 };
}

/** What straight lines in the others leave of a course, one after the other. */
export function without(y: Float64Array, ...others: readonly Float64Array[]): Float64Array {
  const [first, ...rest] = others;
  if (!first) return y;
  const left = (of: Float64Array): Float64Array => {
    const { scale, offset } = ordinaryLine(first, of);
    return Number.isFinite(scale) ? of.map((value, k) => value - offset - scale * (first[k] as number)) : of;
  };
  return without(left(y), ...rest.map(left));
}
