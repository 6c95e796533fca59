/** How much later one number goes as another does, and with how much memory: over steps of lag and time constant, roughly and finely. */
import type { Random } from '../../kit/random.ts';
import type { Courses } from './courses.ts';
import type { LagFound } from './judged.ts';
import type { Looks } from './looks.ts';
import type { Instants } from './moving.ts';
import type { Prepared } from './prepared.ts';
import { cornersCut, roundingOf } from './roughness.ts';
import { bestOf, copyLeaves, lineAt, spreadOf, sumUp, type Best, type Cell, type Sizes, type Spread } from './tie.ts';

/** Below so much explained, two fields are not nearly the same quantity. */
export const R2_LEAST = 0.8;
/** What answers a few settings may be held back by limits and enables for long. */
const R2_LEAST_SET = 0.6;
export const r2Least = ({ goesBySteps }: Prepared): number => (goesBySteps ? R2_LEAST_SET : R2_LEAST);
const COARSE_STEP_US = 50_000;
const COARSE_FROM = -30;
const COARSE_TO = 30;
const CONSTANTS_US = [0, 12_000, 25_000, 50_000, 100_000, 200_000, 400_000, 800_000] as const;
const FINE_STEPS = 10;
/** A first look over fewer instants is so far off at most. */
const FEW_OFF = 0.1;

export const fineStep = (a: Prepared, b: Prepared): number =>
  Math.min(50_000, Math.max(4000, Math.max(a.refreshUs, b.refreshUs) / 4));

/** An interval is no finer than the steps that were tried. */
const widened = (spread: Spread, stepUs: number): Spread => ({
  ...spread,
  lagUs: [spread.lagUs[0] - stepUs / 2, spread.lagUs[1] + stepUs / 2],
});

const coarseCells: readonly Cell[] = Array.from({ length: COARSE_TO - COARSE_FROM + 1 }, (_, k) => ({
  lagUs: (COARSE_FROM + k) * COARSE_STEP_US,
  constantUs: 0,
}));

/** The cells worth drawing again: those that leave little open, and all without a memory. */
function promising(cells: readonly Cell[], left: (cell: Cell) => number): Cell[] {
  const ascending = cells.map((cell) => ({ cell, open: left(cell) })).sort((a, b) => a.open - b.open);
  const copies = ascending.filter(({ cell }) => cell.constantUs === 0);
  return [...new Set([...ascending.slice(0, 48), ...copies])].map(({ cell }) => cell);
}

export function fineCells(aroundUs: number, stepUs: number): Cell[] {
  return CONSTANTS_US.filter((constantUs) => constantUs === 0 || constantUs >= stepUs / 2).flatMap((constantUs) =>
    Array.from({ length: 2 * FINE_STEPS + 1 }, (_, k) => ({ lagUs: aroundUs + (k - FINE_STEPS) * stepUs, constantUs })),
  );
}

export class LagFit {
  constructor(
    private readonly courses: Courses,
    private readonly looks: Looks,
    private readonly random: Random,
  ) {}

  /** The lag of steps that leaves least open, each answered to a size of its own. */
  roughLagOfSteps(a: Prepared, few: Instants): Best {
    const course = this.courses.of(a, Math.max(5000, a.refreshUs / 2), 0);
    return bestOf(sumUp(coarseCells, new Map([[0, course]]), few, 'own'));
  }

  /** The lag at which a pure delay leaves least open, between the steps tried by the parabola through the three nearest. */
  roughLag(a: Prepared, b: Prepared): Best {
    const course = this.courses.of(a, Math.max(5000, a.refreshUs / 2), 0);
    const sums = sumUp(coarseCells, new Map([[0, course]]), this.looks.few(b));
    const best = bestOf(sums);
    const at = coarseCells.findIndex(({ lagUs }) => lagUs === best.lagUs);
    if (at <= 0 || at >= coarseCells.length - 1) return best;
    const [before, after] = [lineAt(sums, at - 1).unexplained, lineAt(sums, at + 1).unexplained];
    const bend = before - 2 * best.unexplained + after;
    const aside = bend > 0 ? (0.5 * (before - after)) / bend : 0;
    return { ...best, lagUs: best.lagUs + aside * COARSE_STEP_US };
  }

  /** a leads b by about so much: exactly how, and how surely. */
  fine(a: Prepared, b: Prepared, aroundUs: number): LagFound | null {
    return this.fineOver(a, b, fineCells(aroundUs, fineStep(a, b)), this.looks.instantsOf(b), this.looks.few(b), 'one');
  }

  fineOver(
    a: Prepared,
    b: Prepared,
    cells: readonly Cell[],
    instants: Instants,
    few: Instants,
    sizes: Sizes,
  ): LagFound | null {
    const stepUs = fineStep(a, b);
    const gridUs = Math.max(2500, Math.min(stepUs, a.refreshUs / 2));
    const courses = new Map(
      [...new Set(cells.map(({ constantUs }) => constantUs))].map((constantUs) => [
        constantUs,
        this.courses.of(a, gridUs, constantUs),
      ]),
    );
    const looked = sumUp(cells, courses, few, sizes);
    const open = new Map(cells.map((cell, index) => [cell, lineAt(looked, index).unexplained]));
    const least = sizes === 'own' ? R2_LEAST : r2Least(a);
    if (1 - Math.min(...open.values()) < least - FEW_OFF) return null;
    const sums = sumUp(
      promising(cells, (cell) => open.get(cell) as number),
      courses,
      instants,
      sizes,
    );
    const best = bestOf(sums);
    const tellingUs = Math.max(a.refreshUs, b.refreshUs);
    if (1 - best.unexplained < least) return null;
    const spread = spreadOf(sums, this.unknowable(a, b, best), this.random);
    const copyResidualSd = best.residualSd * Math.sqrt(copyLeaves(sums) / Math.max(1e-12, best.unexplained));
    return {
      leader: a,
      follower: b,
      best,
      spread: widened(spread, stepUs),
      sizes,
      short: null,
      openInAll: best.unexplained,
      copyResidualSd,
      tellingUs,
    };
  }

  /** Share of the follower's variance that rounding and reading between frames leave, whatever the model. */
  private unknowable(a: Prepared, b: Prepared, { scale, residualSd, unexplained }: Best): number {
    const missed = Math.hypot(cornersCut(this.looks.bends(a, a.refreshUs)), roundingOf(a.field.quantum));
    const left = (scale * missed) ** 2 + roundingOf(b.field.quantum) ** 2;
    return unexplained > 0 ? (left * unexplained) / residualSd ** 2 : 0;
  }
}
