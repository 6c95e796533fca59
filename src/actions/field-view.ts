/**
 * One field as the questions see it: its responses for each kernel, made once, and the surprise of every shift of a train
 * of marks. All shifts of one train cost one addition a mark and shift.
 */
import { addShifted, roundSeries, sizesOf, wrap, type RoundSeries } from '../kit/statistics/shifts.ts';
import { shiftCount, shiftIndex, type Circle, type GriddedField } from './grid.ts';
import { kernelName, respond, runningSums, signedKernel, type Kernel } from './kernels.ts';
import type { Question, Train } from './plan.ts';
import {
  cumulantsOf,
  quietRange,
  surprise,
  surpriseTable,
  type Cumulants,
  type SurpriseTable,
} from './rate-function.ts';

export interface FieldView {
  readonly circle: Circle;
  /** [shiftCount] */
  response(kernel: Kernel): Float64Array;
  /** The same, for being added at many shifts. */
  round(kernel: Kernel): RoundSeries;
  table(train: Train): SurpriseTable;
}

/** @param cumulants by kernel, those that are known: another view of the same field may have made them */
export function viewField(
  field: GriddedField,
  circle: Circle,
  cumulants: Map<string, Cumulants> = new Map(),
): FieldView {
  const sums = runningSums(field);
  const range = field.greatest - field.least;
  const responses = new Map<string, RoundSeries>();
  const tables = new Map<Train, SurpriseTable>();
  const round = (kernel: Kernel): RoundSeries => {
    const name = kernelName(kernel);
    const known = responses.get(name);
    if (known) return known;
    const signed = signedKernel(kernel);
    const made = signed ? sizesOf(round(signed)) : roundSeries(respond(sums, kernel));
    responses.set(name, made);
    return made;
  };
  const response = (kernel: Kernel): Float64Array => round(kernel).once;
  const cumulantsFor = (kernel: Kernel): Cumulants => {
    const name = kernelName(kernel);
    const made = cumulants.get(name) ?? cumulantsOf(response(kernel), range);
    cumulants.set(name, made);
    return made;
  };
  const table = (train: Train): SurpriseTable => {
    const known = tables.get(train);
    if (known) return known;
    const made = surpriseTable(
      train.events.map(({ kernel }) => cumulantsFor(kernel)),
      range,
      !train.alternating,
    );
    tables.set(train, made);
    return made;
  };
  return { circle, response, round, table };
}

/** [shiftCount] sum of responses over the marks at every shift. */
export function sumOverShifts(view: FieldView, train: Train, into: Float64Array): void {
  into.fill(0);
  addShifted(
    into,
    train.events.map(({ kernel }) => view.round(kernel)),
    train.events.map(({ atS }) => shiftIndex(view.circle, atS)),
  );
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

/**
 * Raises entries to the surprise of their sums, where that is above both the entry and `least` nats; whether any rose.
 * from, to: the entries asked for, all if left out.
 */
export function raiseTo(
  into: Float64Array,
  sum: Float64Array,
  table: SurpriseTable,
  least: number,
  from = 0,
  to = into.length,
): boolean {
  const { low, high } = quietRange(table, least);
  let isRaised = false;
  for (let k = from; k < to; k++) {
    const one = sum[k] as number;
    if (one > low && one < high) continue;
    const value = surprise(table, one);
    if (!(value > (into[k] as number))) continue;
    into[k] = value;
    isRaised = true;
  }
  return isRaised;
}

/** Sum of responses at one shift. */
export function sumAtShift(view: FieldView, train: Train, shift: number): number {
  let sum = 0;
  for (const { atS, kernel } of train.events) {
    const response = view.response(kernel);
    sum += response[wrap(shiftIndex(view.circle, atS) + shift, response.length)] as number;
  }
  return sum;
}
