/** Reads a capture and references, and scales fields to known quantities. */
import { part } from '../../kit/control.ts';
import type { FitReport, ReferenceFile } from '../../reference/types.ts';
import { analyse, analyseFields, openCapture, type CaptureRequest, type TaskContext } from './context.ts';
import { warnReadingsOutside } from './outside.ts';

export interface FitRequest extends CaptureRequest {
  readonly reference: ReferenceFile;
  readonly offset: 'auto' | number;
  readonly seed: number;
}

export async function fitTask(request: FitRequest, context: TaskContext): Promise<FitReport> {
  const table = await openCapture(request, context, part(context.control, 0, 0.2));
  const findings = await analyseFields(table, context, part(context.control, 0.2, 0.6));
  const { reference, offset, seed } = request;
  const asked = { job: 'fit' as const, findings, reference, offset, seed };
  const report = await analyse('fit', table, asked, context, part(context.control, 0.6, 1));
  warnReadingsOutside(table, reference, report.clockOffsetS, context);
  return report;
}
