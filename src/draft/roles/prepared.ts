/** Fields made ready to be asked who follows whom: numbers that move, each with its sender, its refresh and its course on a coarse grid. */
import { onGrid } from '../../fields/same-value/pairs.ts';
import { comparedField, gridStepUs, signatureOf, type ComparedField } from '../../fields/same-value/series.ts';
import type { FieldPlace } from '../../fields/same-value/types.ts';
import type { FrameTable } from '../../frames/table.ts';
import { checkpoint, type Control } from '../../kit/control.ts';
import { quantile } from '../../kit/statistics/order.ts';
import { candidatesOf, placeOfCandidate, type Candidate, type ProposedFrame } from '../../map/proposed-fields.ts';

/** What changes less often, or shows fewer values, has no course to compare. */
const NUMBER_CHANGES = 60;
const NUMBER_VALUES = 6;
/** What comes anew more seldom tells no lag that matters to a controller. */
const REFRESH_MOST_US = 1_000_000;

/** Letter of the group that sends a frame, or null where that is not known. */
export type SenderOf = (frame: {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
}) => string | null;

export interface Prepared {
  readonly place: FieldPlace;
  readonly candidate: Candidate;
  readonly field: ComparedField;
  readonly sender: string | null;
  /** Usual time between two new values while it moves, at least its period. */
  readonly refreshUs: number;
  readonly isNumber: boolean;
  /** [points] ranks on the capture's coarse grid (`gridStepUs`), sum of squares 1; empty unless a number. */
  readonly levels: Float32Array;
}

function refreshOf({ series, changes, periodUs }: ComparedField): number {
  const { timeUs } = series;
  const gaps = Array.from(
    changes.subarray(1),
    (row, k) => (timeUs[row] as number) - (timeUs[changes[k] as number] as number),
  );
  return gaps.length > 0 ? Math.max(periodUs, quantile(gaps, 0.25)) : periodUs;
}

const isNumberOf = ({ candidate, changes, distinct, periodUs }: ComparedField): boolean =>
  candidate.field.kind === 'number' &&
  changes.length >= NUMBER_CHANGES &&
  distinct >= NUMBER_VALUES &&
  periodUs <= REFRESH_MOST_US;

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
    const field = comparedField(candidate);
    if (!field) continue;
    const isNumber = isNumberOf(field);
    prepared.push({
      place: placeOfCandidate(candidate),
      candidate,
      field,
      sender: senderOf(candidate.frame),
      refreshUs: refreshOf(field),
      isNumber,
      levels: isNumber ? signatureOf(onGrid(field, stepUs, points)) : new Float32Array(),
    });
  }
  return prepared;
}
