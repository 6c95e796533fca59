/**
 * One field as the questions see it: its responses for each kernel, made once, and the surprise of every shift of a train
 * of marks. All shifts of one train cost one addition a mark and shift.
 */
import { addShifted, wrap } from '../kit/statistics/shifts.ts';
import { GRID_S, gridIndex, type Circle, type GriddedField } from './grid.ts';
import { kernelName, respond, runningSums, type Kernel } from './kernels.ts';
import type { Question, Train } from './plan.ts';
import { cumulantsOf, surprise, surpriseTable, type Cumulants, type SurpriseTable } from './rate-function.ts';

/** Grid points between neighbouring shifts: 0.1 s. */
export const SHIFT_STRIDE = 2;
export const SHIFT_S = SHIFT_STRIDE * GRID_S;
export const shiftCount = (circle: Circle): number => circle.points / SHIFT_STRIDE;

interface Answer {
  readonly response: Float64Array;
  readonly cumulants: Cumulants;
}

export interface FieldView {
  readonly circle: Circle;
  answer(kernel: Kernel): Answer;
  table(train: Train): SurpriseTable;
}

export function viewField(field: GriddedField, circle: Circle): FieldView {
  const sums = runningSums(field);
  const range = field.greatest - field.least;
  const answers = new Map<string, Answer>();
  const tables = new Map<Train, SurpriseTable>();
  const answer = (kernel: Kernel): Answer => {
    const name = kernelName(kernel);
    const known = answers.get(name);
    if (known) return known;
    const response = respond(sums, kernel);
    const made = { response, cumulants: cumulantsOf(response, range) };
    answers.set(name, made);
    return made;
  };
  const table = (train: Train): SurpriseTable => {
    const known = tables.get(train);
    if (known) return known;
    const cumulants = train.events.map(({ kernel }) => answer(kernel).cumulants);
    const made = surpriseTable(cumulants, range, !train.alternating);
    tables.set(train, made);
    return made;
  };
  return { circle, answer, table };
}

/** [shiftCount] sum of responses over the marks at every shift. */
function sumOverShifts(view: FieldView, train: Train, into: Float64Array): void {
  into.fill(0);
  for (const { atS, kernel } of train.events) {
    addShifted(into, view.answer(kernel).response, Math.round(gridIndex(view.circle, atS)), SHIFT_STRIDE);
  }
}

/** Arrays that are used again for every field and question, so that a scan leaves no garbage behind. */
export interface ScanScratch {
  readonly sum: Float64Array;
  readonly surprise: Float64Array;
}

export const scanScratch = (circle: Circle): ScanScratch => ({
  sum: new Float64Array(shiftCount(circle)),
  surprise: new Float64Array(shiftCount(circle)),
});

/** [shiftCount] surprise at every shift of the marks, in nats; valid until the scratch is used again. */
export function surpriseOverShifts(view: FieldView, question: Question, scratch: ScanScratch): Float64Array {
  const { sum, surprise: out } = scratch;
  out.fill(0);
  for (const train of question.trains) {
    sumOverShifts(view, train, sum);
    const table = view.table(train);
    for (let k = 0; k < out.length; k++) {
      const value = surprise(table, sum[k] as number);
      if (value > (out[k] as number)) out[k] = value;
    }
  }
  return out;
}

/** Sum of responses at one shift, given in grid points. */
export function sumAtShift(view: FieldView, train: Train, shiftPoints: number): number {
  const { points } = view.circle;
  let sum = 0;
  for (const { atS, kernel } of train.events) {
    const at = wrap(Math.round(gridIndex(view.circle, atS)) + shiftPoints, points);
    sum += view.answer(kernel).response[at] as number;
  }
  return sum;
}

export interface Observed {
  readonly surprise: number;
  /** Shift at which it is greatest, in grid points. */
  readonly shiftPoints: number;
  readonly train: Train;
}

/** The most surprising lag of a question around a shift; lags and shifts in steps of SHIFT_STRIDE. */
export function observe(view: FieldView, question: Question, shiftPoints: number, lags: readonly number[]): Observed {
  let best: Observed = { surprise: -1, shiftPoints, train: question.trains[0] as Train };
  for (const train of question.trains) {
    const table = view.table(train);
    for (const lag of lags) {
      const at = shiftPoints + lag * SHIFT_STRIDE;
      const value = surprise(table, sumAtShift(view, train, at));
      if (value > best.surprise) best = { surprise: value, shiftPoints: at, train };
    }
  }
  return best;
}
