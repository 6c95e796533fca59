/** What is asked of which fields over which stretch of the capture, and the walk over all fields. */
import { checkpoint, type Control } from '../kit/control.ts';
import type { Candidate } from '../map/proposed-fields.ts';
import { viewField, type FieldView } from './field-view.ts';
import { layOnGrid, type Circle, type GriddedField } from './grid.ts';
import { answeringSeries } from './pace.ts';
import type { ActionPlan } from './plan.ts';

/** Everything a scan needs, decided before any field is looked at. */
export interface Setting {
  readonly candidates: readonly Candidate[];
  readonly circle: Circle;
  readonly plans: readonly ActionPlan[];
}

export interface Laid {
  readonly field: GriddedField;
  readonly view: FieldView;
}

/** A field on the grid with its responses; null where it never moves. */
export function lay(candidate: Candidate, circle: Circle): Laid | null {
  const field = layOnGrid(answeringSeries(candidate), circle);
  return field.greatest > field.least ? { field, view: viewField(field, circle) } : null;
}

export async function eachField(
  { candidates, circle }: Setting,
  control: Control,
  note: string,
  use: (laid: Laid, index: number) => void,
): Promise<void> {
  for (const [index, candidate] of candidates.entries()) {
    await checkpoint(control, index / candidates.length, `${note} ${candidate.frame.id} ${candidate.field.name}`);
    const laid = lay(candidate, circle);
    if (laid) use(laid, index);
  }
}
