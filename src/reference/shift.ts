/**
 * When the readings were taken, by one field: the shift of their clock at which field and readings go together best, with
 * its standard error. Of every shift the robust line counts, as one wild reading on a steep stretch would else decide;
 * the error follows from the bend of the loss at its least (Huber 1981, section 7.6).
 */
import type { Course, Line } from '../kit/statistics/line.ts';
import { lineAtSpread, residualSpread } from '../kit/statistics/robust-line.ts';
import type { FieldGrid } from './field-grid.ts';
import { pairUp, thinOut } from './pairing.ts';
import type { ReferenceSeries } from './types.ts';

export interface Shift {
  readonly shiftS: number;
  /** Infinite where the loss does not bend: nothing in the readings tells when they were taken. */
  readonly seS: number;
}

/** Steps of the two searches, coarse then fine, and how many on each side. */
const REFINEMENTS = [
  { stepS: 0.1, steps: 6 },
  { stepS: 0.02, steps: 6 },
] as const;
const REFINE_MOST = 1500;

interface Look {
  readonly grid: FieldGrid;
  readonly series: ReferenceSeries;
  readonly spread: number;
}

type Losing = Course & { readonly loss: number };

/** [2 steps + 1] lines at each shift with their loss, in squared standard deviations of one residual, halved. */
function profile(
  { grid, series, spread }: Look,
  middleS: number,
  stepS: number,
  steps: number,
  start: Course,
): Losing[] {
  return Array.from({ length: 2 * steps + 1 }, (_, i) => {
    const { x, y } = pairUp(grid.series, series, middleS + (i - steps) * stepS, grid.holdS);
    return x.length < 3 ? { ...start, loss: Number.POSITIVE_INFINITY } : lineAtSpread(x, y, start, spread);
  });
}

interface Least {
  readonly atS: number;
  readonly line: Course;
  /** Second derivative of the loss by the shift; 0 where it is not seen to bend. */
  readonly bend: number;
}

function leastOf(look: Look, middleS: number, { stepS, steps }: (typeof REFINEMENTS)[number], start: Course): Least {
  const losses = profile(look, middleS, stepS, steps, start);
  const all = losses.map(({ loss }) => loss);
  const least = all.indexOf(Math.min(...all));
  const [before, at, after] = [losses[least - 1], losses[least], losses[least + 1]];
  const atS = middleS + (least - steps) * stepS;
  const line = at as Course;
  if (!before || !at || !after) return { atS, line, bend: 0 };
  const bend = before.loss - 2 * at.loss + after.loss;
  if (!(bend > 0)) return { atS, line, bend: 0 };
  return { atS: atS + (0.5 * (before.loss - after.loss) * stepS) / bend, line, bend: bend / stepS ** 2 };
}

/** The shift near `aroundS`; `line` is the one there. Remembering residuals tell less: `line.independent` of them count. */
export function bestShift(grid: FieldGrid, all: ReferenceSeries, aroundS: number, line: Line): Shift {
  const series = thinOut(all, REFINE_MOST);
  if (!(line.residualSd > 0)) return { shiftS: aroundS, seS: Number.POSITIVE_INFINITY };
  const coarse = leastOf({ grid, series, spread: line.residualSd }, aroundS, REFINEMENTS[0], line);
  const near = pairUp(grid.series, series, coarse.atS, grid.holdS);
  const spread = residualSpread(
    near.y.map((y, i) => y - coarse.line.offset - coarse.line.scale * (near.x[i] as number)),
  );
  if (!(spread > 0)) return { shiftS: coarse.atS, seS: Number.POSITIVE_INFINITY };
  const fine = leastOf({ grid, series, spread }, coarse.atS, REFINEMENTS[1], coarse.line);
  const worth = (near.x.length * line.independent) / line.n;
  return { shiftS: fine.atS, seS: fine.bend > 0 ? 1 / Math.sqrt(worth * fine.bend) : Number.POSITIVE_INFINITY };
}
