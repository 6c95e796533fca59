/** Says what differs between two captures. */
import { part } from '../../kit/control.ts';
import { compareTables } from '../../proof/compare.ts';
import type { Comparison } from '../../proof/compare/types.ts';
import { openCapture, type CaptureRequest, type TaskContext } from './context.ts';

export interface CompareRequest {
  readonly a: CaptureRequest;
  readonly b: CaptureRequest;
  readonly busMap: Readonly<Record<string, string>>;
}

export async function compareTask(request: CompareRequest, context: TaskContext): Promise<Comparison> {
  const a = await openCapture(request.a, context, part(context.control, 0, 0.45));
  const b = await openCapture(request.b, context, part(context.control, 0.45, 0.9));
  const comparison = compareTables(a, b, { busMap: request.busMap });
  comparison.warnings.forEach((warning) => context.warn(warning));
  return comparison;
}
