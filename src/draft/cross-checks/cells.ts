/** Many alike values of one sender, in one frame or in several, and another field that shows what they add up to: cells of a pack and its voltage. */
import { knownMean } from '../../kit/statistics/order.ts';
import type { Prepared } from '../roles/prepared.ts';
import { chanceOf, knownIn, lineThrough } from './grid.ts';
import type { OnGrid } from './speeds.ts';
import type { Trial } from './trial.ts';

const CELLS_LEAST = 4;
/** Means of alike cells lie within this share of their common mean. */
const ALIKE_SHARE = 0.12;
/** What comes near zero is no cell: wheels are alike too, and add up to the speed. */
const LEAST_SHARE = 0.4;
const OPEN_MOST = 0.3;
/** A sum meets zero with what it adds up, as a share of its mean. */
const ZERO_SHARE = 0.1;

/** Of one sender, of one shape, and about as large as each other. */
function cellSets(fields: readonly OnGrid[]): OnGrid[][] {
  const sets = new Map<string, OnGrid[]>();
  for (const each of fields.filter(standsHigh)) {
    const { length, order, coding } = each.field.candidate.field;
    const key = `${senderOf(each.field)} ${length} ${order} ${coding}`;
    sets.set(key, [...(sets.get(key) ?? []), each]);
  }
  return [...sets.values()].map(alikeOf).filter((set) => set.length >= CELLS_LEAST);
}

/** Where the sender is not known, its frame. */
const senderOf = ({ likelySender, candidate: { frame } }: Prepared): string =>
  likelySender === null ? `${frame.bus} ${frame.id} ${frame.extended}` : `sender ${likelySender}`;

function standsHigh({ course }: OnGrid): boolean {
  const least = LEAST_SHARE * knownMean(course);
  return course.every((value) => !(value < least));
}

function alikeOf(set: readonly OnGrid[]): OnGrid[] {
  const means = set.map(({ course }) => knownMean(course)).sort((a, b) => a - b);
  const middle = means[means.length >> 1] ?? 0;
  return set.filter(({ course }) => middle > 0 && Math.abs(knownMean(course) / middle - 1) <= ALIKE_SHARE);
}

export function cellSums(fields: readonly OnGrid[]): Trial[] {
  return cellSets(fields).flatMap((cells) => {
    const at = knownIn(...cells.map(({ course }) => course));
    if (at.length < 100) return [];
    const sum = Float64Array.from(at, (k) => cells.reduce((total, { course }) => total + (course[k] as number), 0));
    const own = new Set(cells.map(({ field }) => field.candidate.stream));
    const outside = fields.filter(({ field }) => !own.has(field.candidate.stream));
    return outside.flatMap((whole): Trial[] => {
      const both = at.map((k, i) => [k, i] as const).filter(([k]) => !Number.isNaN(whole.course[k] as number));
      if (both.length < 100) return [];
      const x = Float64Array.from(both, ([, i]) => sum[i] as number);
      const y = Float64Array.from(both, ([k]) => whole.course[k] as number);
      const { slope, offset, open } = lineThrough(x, y);
      const mean = y.reduce((total, value) => total + value, 0) / y.length;
      const holds = open <= OPEN_MOST && slope > 0 && Math.abs(offset) <= ZERO_SHARE * Math.abs(mean);
      return [
        {
          check: 'cell-sum',
          members: [
            ...cells.map(({ field }) => ({ part: 'cell', place: field.place })),
            { part: 'sum', place: whole.field.place },
          ],
          residual: open,
          n: both.length,
          p: holds ? chanceOf(x, y) : 1,
          holds,
          figures: { ratio: slope, cells: cells.length },
        },
      ];
    });
  });
}
