/** What the analysis of meaning says of one field: its part, found by place, and the words for how sure that is. */
import type { MeaningReport } from '../../../draft/meaning.ts';
import type { RoleFinding } from '../../../draft/roles/types.ts';
import type { Placement } from '../../../frames/bits.ts';
import type { When } from '../../../map/schema.ts';
import { placementKey } from '../../pictures/bands-words.ts';

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
