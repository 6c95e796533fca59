/** What the analysis of meaning says of one field: its part and what it may mean, found by place, and the words for how sure that is. */
import type { MeaningReport } from '../../../draft/meaning.ts';
import { unusedName } from '../../../draft/names.ts';
import type { FieldNaming } from '../../../draft/naming/types.ts';
import type { RoleFinding } from '../../../draft/roles/types.ts';
import { isSameField, type PlacedField } from '../../pictures/bands-words.ts';
import { tidyName } from './naming.ts';

/** Null where nothing tells its part. */
export function roleOf(report: MeaningReport | null, field: PlacedField): RoleFinding | null {
  const found = report?.roles.roles.find((one) => isSameField(one, field)) ?? null;
  return found && found.role !== 'unknown' ? found : null;
}

/** A share of 0 to 1 cut and never rounded up, so that 0.996 stays short of all. */
export const cutPercent = (share: number): string => `${Math.floor(100 * Math.min(1, Math.max(0, share)) + 1e-6)} %`;

export const sureWords = (confidence: number): string => `${cutPercent(confidence)} sure`;

export const namingOf = (report: MeaningReport | null, field: PlacedField): FieldNaming | null =>
  report?.naming.fields.find((one) => isSameField(one, field)) ?? null;

/** "wheel_speed", then "wheel_speed_2": the first that is free. */
export const freeName = (meaning: string, taken: readonly string[]): string =>
  unusedName(tidyName(meaning), new Set(taken));
