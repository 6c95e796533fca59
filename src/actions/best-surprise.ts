/** The greatest surprise so far at every shift, gathered field by field. Most of what a field shows is less than what others did before it. */
import { raiseTo, sumOverShifts, type FieldView, type ScanScratch } from './field-view.ts';
import type { Question } from './plan.ts';

/** Neighbouring shifts that share a bound below which nothing is looked up. */
const BLOCK = 64;

export interface BestSurprise {
  /** [shiftCount] nats. */
  readonly value: Float64Array;
  /** [blocks] the least of each BLOCK of them. */
  readonly least: Float64Array;
}

export const newBestSurprise = (shifts: number): BestSurprise => ({
  value: new Float64Array(shifts),
  least: new Float64Array(Math.ceil(shifts / BLOCK)),
});

function leastOf(value: Float64Array, from: number, to: number): number {
  let least = Number.POSITIVE_INFINITY;
  for (let k = from; k < to; k++) if ((value[k] as number) < least) least = value[k] as number;
  return least;
}

/** Raises the best so far by what one field shows. Cost: one addition a mark and shift, and look-ups where it shows more than all before. */
export function raiseBest(best: BestSurprise, view: FieldView, question: Question, scratch: ScanScratch): void {
  const { value, least } = best;
  for (const train of question.trains) {
    sumOverShifts(view, train, scratch.sum);
    const table = view.table(train);
    for (let block = 0; block < least.length; block++) {
      const [from, to] = [block * BLOCK, Math.min(value.length, (block + 1) * BLOCK)];
      if (raiseTo(value, scratch.sum, table, least[block] as number, from, to)) least[block] = leastOf(value, from, to);
    }
  }
}
