/** Says what differs between two captures, or two spans of one. */
import type { Span } from '../../frames/pictures/span.ts';
import { walkSteps } from '../../frames/pictures/steps.ts';
import { checkpoint, part, type Control } from '../../kit/control.ts';
import { compareProfiles } from '../../proof/compare/compare-profiles.ts';
import type { ComparisonProfile } from '../../proof/compare/profile-types.ts';
import { comparisonProfile } from '../../proof/compare/profile.ts';
import type { Comparison } from '../../proof/compare/types.ts';
import { CannotDo } from '../arguments.ts';
import { openCapture, type CaptureRequest, type TaskContext } from './context.ts';

interface SideRequest extends CaptureRequest {
  readonly span?: Span;
}

export interface CompareRequest {
  readonly a: SideRequest;
  readonly b: SideRequest;
  readonly busMap: Readonly<Record<string, string>>;
}

/** @throws CannotDo where the span holds no frame */
async function profileOf(
  side: SideRequest,
  which: string,
  context: TaskContext,
  control: Control,
): Promise<ComparisonProfile> {
  const table = await openCapture(side, context, part(control, 0, 0.5));
  await checkpoint(control, 0.5, `looking through the ${which} capture`);
  const profile = await walkSteps(comparisonProfile(table, side.span), control);
  if (side.span && profile.identifiers.length === 0) {
    const lasts = (table.endUs / 1e6).toFixed(1);
    throw new CannotDo(
      `The ${which} capture holds no frame in the span that was given. It lasts ${lasts} s; spans count from its first frame.`,
    );
  }
  return profile;
}

export async function compareTask(request: CompareRequest, context: TaskContext): Promise<Comparison> {
  const a = await profileOf(request.a, 'first', context, part(context.control, 0, 0.48));
  const b = await profileOf(request.b, 'second', context, part(context.control, 0.48, 0.96));
  const comparison = compareProfiles(a, b, { busMap: request.busMap });
  comparison.warnings.forEach((warning) => context.warn(warning));
  return comparison;
}
