/**
 * One field as the questions see it: its responses for each kernel, made once, and the surprise of every shift of a train
 * of marks. All shifts of one train cost one addition a mark and shift.
 */
import { addShifted, wrap } from '../kit/statistics/shifts.ts';
import { shiftCount, shiftIndex, type Circle, type GriddedField } from './grid.ts';
import { kernelName, respond, runningSums, type Kernel } from './kernels.ts';
import type { Question, Train } from './plan.ts';
import {
  cumulantsOf,
  quietRange,
  surprise,
  surpriseTable,
  type Cumulants,
  type SurpriseTable,
} from './rate-function.ts';

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
    addShifted(into, view.answer(kernel).response, shiftIndex(view.circle, atS));
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

/** Surprises below this are told apart by nobody: they are left at 0. */
const QUIET_NATS = 1;

/** [shiftCount] surprise at every shift of the marks, in nats; valid until the scratch is used again. */
export function surpriseOverShifts(view: FieldView, question: Question, scratch: ScanScratch): Float64Array {
  const { sum, surprise: out } = scratch;
  out.fill(0);
  for (const train of question.trains) {
    sumOverShifts(view, train, sum);
    raiseTo(out, sum, view.table(train), QUIET_NATS);
  }
  return out;
}

/** Raises each entry to the surprise of its sum, where that is above both the entry and `least` nats. */
function raiseTo(into: Float64Array, sum: Float64Array, table: SurpriseTable, least: number): void {
  const { low, high } = quietRange(table, least);
  for (let k = 0; k < into.length; k++) {
    const one = sum[k] as number;
    if (one > low && one < high) continue;
    const value = surprise(table, one);
    if (value > (into[k] as number)) into[k] = value;
  }
}

/** Raises the best surprise so far at every shift by what one field shows; cheap where it shows less than all before. */
export function raiseBest(best: Float64Array, view: FieldView, question: Question, scratch: ScanScratch): void {
  let least = Number.POSITIVE_INFINITY;
  for (let k = 0; k < best.length; k++) if ((best[k] as number) < least) least = best[k] as number;
  for (const train of question.trains) {
    sumOverShifts(view, train, scratch.sum);
    raiseTo(best, scratch.sum, view.table(train), least);
  }
}

/** Sum of responses at one shift. */
export function sumAtShift(view: FieldView, train: Train, shift: number): number {
  let sum = 0;
  for (const { atS, kernel } of train.events) {
    const { response } = view.answer(kernel);
    sum += response[wrap(shiftIndex(view.circle, atS) + shift, response.length)] as number;
  }
  return sum;
}
