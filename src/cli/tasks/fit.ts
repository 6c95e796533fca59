/** Reads a capture and references, and scales fields to known quantities. */
import { part } from '../../kit/control.ts';
import type { FitReport, ReferenceFile } from '../../reference/types.ts';
import { analyse, analyseFields, openCapture, type CaptureRequest, type TaskContext } from './context.ts';

export interface FitRequest extends CaptureRequest {
  readonly reference: ReferenceFile;
  readonly offset: 'auto' | number;
  readonly seed: number;
}

export async function fitTask(request: FitRequest, context: TaskContext): Promise<FitReport> {
  const table = await openCapture(request, context, part(context.control, 0, 0.2));
  const findings = await analyseFields(table, context, part(context.control, 0.2, 0.6));
  const { reference, offset, seed } = request;
  return analyse(
    'fit',
    table,
    { job: 'fit', findings, reference, offset, seed },
    context,
    part(context.control, 0.6, 1),
  );
}
