/** What the analysis of meaning says of one field: its part and what it may mean, found by place, and the words for how sure that is. */
import type { MeaningReport } from '../../../draft/meaning.ts';
import type { FieldNaming } from '../../../draft/naming/types.ts';
import type { RoleFinding } from '../../../draft/roles/types.ts';
import type { Placement } from '../../../frames/bits.ts';
import type { When } from '../../../map/schema.ts';
import { placementKey } from '../../pictures/bands-words.ts';
import { tidyName } from './naming.ts';

export interface PlacedField extends Placement {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  readonly when: When;
}

export const isSameField = (a: PlacedField, b: PlacedField): boolean =>
  a.bus === b.bus &&
  Number(a.id) === Number(b.id) &&
  a.extended === b.extended &&
  placementKey(a, a.when) === placementKey(b, b.when);

/** Null where nothing tells its part. */
export function roleOf(report: MeaningReport | null, field: PlacedField): RoleFinding | null {
  const found = report?.roles.roles.find((one) => isSameField(one, field)) ?? null;
  return found && found.role !== 'unknown' ? found : null;
}

/** Cut and never rounded up: 0.996 stays short of certain. */
export const sureWords = (confidence: number): string =>
  `${Math.floor(100 * Math.min(1, Math.max(0, confidence)))} % sure`;

export const namingOf = (report: MeaningReport | null, field: PlacedField): FieldNaming | null =>
  report?.naming.fields.find((one) => isSameField(one, field)) ?? null;

/** "wheel_speed", then "wheel_speed_2": the first that is free. */
export function freeName(meaning: string, taken: readonly string[]): string {
  const name = tidyName(meaning);
  for (let n = 1; ; n++) {
    const tried = n === 1 ? name : `${name}_${n}`;
    if (!taken.includes(tried)) return tried;
  }
}
