/** The greatest surprise so far at every shift, gathered field by field. Most of what a field shows is less than what others did before it. */
import { sumOverShifts, type FieldView, type ScanScratch } from './field-view.ts';
import type { Question } from './plan.ts';
import { quietRange, surprise, type SurpriseTable } from './rate-function.ts';

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

/** Raises one block by the sums of a train; whether any entry rose. */
function raiseBlock(
  value: Float64Array,
  sum: Float64Array,
  table: SurpriseTable,
  block: number,
  nats: number,
): boolean {
  const { low, high } = quietRange(table, nats);
  const end = Math.min(value.length, (block + 1) * BLOCK);
  let isRaised = false;
  for (let k = block * BLOCK; k < end; k++) {
    const one = sum[k] as number;
    if (one > low && one < high) continue;
    const here = surprise(table, one);
    if (here <= (value[k] as number)) continue;
    value[k] = here;
    isRaised = true;
  }
  return isRaised;
}

function leastOf(value: Float64Array, block: number): number {
  const end = Math.min(value.length, (block + 1) * BLOCK);
  let least = Number.POSITIVE_INFINITY;
  for (let k = block * BLOCK; k < end; k++) if ((value[k] as number) < least) least = value[k] as number;
  return least;
}

/** Raises the best so far by what one field shows. Cost: one addition a mark and shift, and look-ups where it shows more than all before. */
export function raiseBest(best: BestSurprise, view: FieldView, question: Question, scratch: ScanScratch): void {
  const { value, least } = best;
  for (const train of question.trains) {
    sumOverShifts(view, train, scratch.sum);
    const table = view.table(train);
    for (let block = 0; block < least.length; block++) {
      if (raiseBlock(value, scratch.sum, table, block, least[block] as number)) least[block] = leastOf(value, block);
    }
  }
}
