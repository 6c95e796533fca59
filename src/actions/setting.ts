/** What is asked of which fields over which stretch of the capture, and the walk over all fields. */
import { checkpoint, type Control } from '../kit/control.ts';
import type { Candidate } from '../map/proposed-fields.ts';
import type { Circle } from './grid.ts';
import type { Laid, LaidFields } from './laid-fields.ts';
import type { ActionPlan } from './plan.ts';

/** Everything a scan needs, decided before any field is looked at. */
export interface Setting {
  readonly candidates: readonly Candidate[];
  readonly circle: Circle;
  readonly plans: readonly ActionPlan[];
  readonly laid: LaidFields;
}

export async function eachField(
  { candidates, laid }: Setting,
  control: Control,
  note: string,
  use: (laid: Laid, index: number) => void,
): Promise<void> {
  for (const [index, candidate] of candidates.entries()) {
    await checkpoint(control, index / candidates.length, `${note} ${candidate.frame.id} ${candidate.field.name}`);
    const own = laid.of(candidate);
    if (own) use(own, index);
  }
}
