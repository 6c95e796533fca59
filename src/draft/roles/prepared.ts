/** Fields made ready to be asked who follows whom: numbers that move, each with its sender, its refresh and its course on a coarse grid. */
import { onGrid } from '../../fields/same-value/pairs.ts';
import { comparedField, gridStepUs, signatureOf, type ComparedField } from '../../fields/same-value/series.ts';
import type { FieldPlace } from '../../fields/same-value/types.ts';
import type { FrameTable } from '../../frames/table.ts';
import { checkpoint, type Control } from '../../kit/control.ts';
import { knownMean, quantile, sorted } from '../../kit/statistics/order.ts';
import { candidatesOf, placeOfCandidate, type Candidate, type ProposedFrame } from '../../map/proposed-fields.ts';

/** What changes less often, or shows fewer values, has no course to compare. */
const NUMBER_CHANGES = 5;
const NUMBER_VALUES = 3;
/** What changes more seldom is set, and does not glide: its course goes by steps. */
const GLIDES_CHANGES = 60;
/** What comes anew more seldom tells no lag that matters to a controller. */
const REFRESH_MOST_US = 1_000_000;

export interface Sender {
  /** Letter of the group that sends a frame, where that is sure. */
  readonly sure: string | null;
  /** The same where it is likely at least. */
  readonly likely: string | null;
}
export type SenderOf = (frame: { readonly bus: string; readonly id: string; readonly extended: boolean }) => Sender;

export interface Prepared {
  readonly place: FieldPlace;
  readonly candidate: Candidate;
  readonly field: ComparedField;
  /** Null where it is not sure. */
  readonly sender: string | null;
  readonly likelySender: string | null;
  /** Usual time between two new values while it moves, at least its period. */
  readonly refreshUs: number;
  readonly isNumber: boolean;
  /** It is set now and then, and stays. */
  readonly goesBySteps: boolean;
  /** [points] on the capture's coarse grid, NaN where not known; empty unless a number. */
  readonly grid: Float64Array;
  /** [points] ranks on the capture's coarse grid (`gridStepUs`), sum of squares 1; empty unless a number. */
  readonly levels: Float32Array;
  /** The same of values instead of ranks: what mostly rests is told by how far it goes. */
  readonly values: Float32Array;
}

/** The course of what is set and then stays: each value holds until the frame before the next. */
function bySteps(field: ComparedField): ComparedField {
  const { timeUs, value } = field.series;
  // Few values lie far apart: their least distance says nothing of rounding.
  return { ...field, quantum: 1, knots: { timeUs, value, place: value } };
}

/** [points] values about their mean with a sum of squares of 1; 0 where not known. */
function plainSignature(values: Float64Array): Float32Array {
  const middle = knownMean(values);
  let squares = 0;
  for (const value of values) if (!Number.isNaN(value)) squares += (value - middle) ** 2;
  const size = Math.sqrt(squares);
  return Float32Array.from(values, (value) => (Number.isNaN(value) || size === 0 ? 0 : (value - middle) / size));
}

/** Parts of its range that a value at rest stays within, whatever dithers. */
const REST_PARTS = 50;

/** Where it rests: the middle of what it shows in the part of its range that it is in most. NaN where nothing is known. */
export function restOf(values: Float64Array): number {
  const ascending = sorted(values.filter((value) => !Number.isNaN(value)));
  const reach = ((ascending.at(-1) ?? 0) - (ascending[0] ?? 0)) / REST_PARTS;
  let [best, most, from] = [0, 0, 0];
  ascending.forEach((value, k) => {
    while (value - (ascending[from] as number) > reach) from++;
    if (k - from + 1 > most) [best, most] = [from, k - from + 1];
  });
  return most > 0 ? (ascending[best + (most >> 1)] as number) : Number.NaN;
}

/** How far a field is from where it rests, either way: what is asked forwards and backwards goes with one pedal. */
export function sizeOf(prepared: Prepared): Prepared {
  const { field, grid } = prepared;
  const rest = restOf(grid);
  const far = (values: Float64Array): Float64Array => values.map((value) => Math.abs(value - rest));
  const knots = { ...field.knots, value: far(field.knots.value) };
  const sizes = far(grid);
  return { ...prepared, field: { ...field, knots }, levels: signatureOf(sizes), values: plainSignature(sizes) };
}

function refreshOf({ series, changes, periodUs }: ComparedField): number {
  if (changes.length < GLIDES_CHANGES) return periodUs;
  const { timeUs } = series;
  const gaps = Array.from(
    changes.subarray(1),
    (row, k) => (timeUs[row] as number) - (timeUs[changes[k] as number] as number),
  );
  return gaps.length > 0 ? Math.max(periodUs, quantile(gaps, 0.25)) : periodUs;
}

/** What is set to so many values may be taken for states, and be a number all the same. */
const STATES_VALUES = 5;

const isNumberOf = ({ candidate, changes, distinct, periodUs }: ComparedField): boolean => {
  const { kind } = candidate.field;
  const values = kind === 'number' ? NUMBER_VALUES : kind === 'states' ? STATES_VALUES : Infinity;
  return changes.length >= NUMBER_CHANGES && distinct >= values && periodUs <= REFRESH_MOST_US;
};

/** All fields that change at all, in the order of the findings. */
export async function prepareFields(
  table: FrameTable,
  findings: readonly ProposedFrame[],
  senderOf: SenderOf,
  control: Control,
): Promise<Prepared[]> {
  const stepUs = gridStepUs(table.endUs);
  const points = Math.ceil(table.endUs / stepUs) + 1;
  const candidates = table.origin.kind === 'none' ? [] : candidatesOf(table, findings);
  const prepared: Prepared[] = [];
  for (const [index, candidate] of candidates.entries()) {
    await checkpoint(control, index / candidates.length, 'fields made ready for roles');
    const found = comparedField(candidate);
    if (!found) continue;
    const isNumber = isNumberOf(found);
    const goesBySteps = isNumber && found.changes.length < GLIDES_CHANGES;
    const field = goesBySteps ? bySteps(found) : found;
    const grid = isNumber ? onGrid(field, stepUs, points) : new Float64Array();
    const { sure, likely } = senderOf(candidate.frame);
    prepared.push({
      place: placeOfCandidate(candidate),
      candidate,
      field,
      sender: sure,
      likelySender: likely,
      refreshUs: refreshOf(field),
      isNumber,
      goesBySteps,
      grid,
      levels: signatureOf(grid),
      values: plainSignature(grid),
    });
  }
  return prepared;
}
