/** Two captures compared where both are at hand: profiles of each, then what they say together. */
import { runSteps } from '../frames/pictures/steps.ts';
import type { FrameTable } from '../frames/table.ts';
import { compareProfiles } from './compare/compare-profiles.ts';
import { comparisonProfile } from './compare/profile.ts';
import type { CompareOptions, Comparison } from './compare/types.ts';

/** Linear in the frames of both. */
export function compareTables(a: FrameTable, b: FrameTable, options: CompareOptions = {}): Comparison {
  return compareProfiles(runSteps(comparisonProfile(a)), runSteps(comparisonProfile(b)), options);
}
