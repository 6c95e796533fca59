/** Reads a capture and references, and scales fields to known quantities. */
import { partAsked } from '../../draft/broadcasts.ts';
import { part } from '../../kit/control.ts';
import { diagnosticsOf, type Diagnostics } from '../../reference/diagnostics/report.ts';
import type { FitReport, ReferenceFile } from '../../reference/types.ts';
import { CannotDo } from '../arguments.ts';
import { analyse, analyseFields, openCapture, type CaptureRequest, type TaskContext } from './context.ts';
import { warnReadingsOutside } from './outside.ts';

export interface FitRequest extends CaptureRequest {
  /** Null: what the capture's own diagnostics answer. */
  readonly reference: ReferenceFile | null;
  readonly offset: 'auto' | number;
  readonly seed: number;
}

const NOTHING_KNOWN =
  'The capture holds no answers to a tester, and no reference was given. Add --reference FILE with readings over time.';

const OWN_CLOCK = 'the readings are from the capture itself, offset 0 s';

/** Readings in the capture are on its clock. */
function knownFrom(
  diagnostics: Diagnostics,
  { reference, offset }: FitRequest,
): Pick<FitRequest, 'offset'> & { reference: ReferenceFile } {
  if (reference) return { reference, offset };
  if (diagnostics.reference.series.length === 0) throw new CannotDo(NOTHING_KNOWN);
  return { reference: diagnostics.reference, offset: offset === 'auto' ? 0 : offset };
}

export async function fitTask(request: FitRequest, context: TaskContext): Promise<FitReport> {
  const table = await openCapture(request, context, part(context.control, 0, 0.2));
  const diagnostics = diagnosticsOf(table);
  const { reference, offset } = knownFrom(diagnostics, request);
  const found = await analyseFields(table, context, part(context.control, 0.2, 0.6));
  const { broadcasts: findings } = partAsked(diagnostics.report, found);
  const { seed } = request;
  const asked = { job: 'fit' as const, findings, reference, offset, seed };
  const report = await analyse('fit', table, asked, context, part(context.control, 0.6, 1));
  warnReadingsOutside(table, reference, report.clockOffsetS, context);
  return request.reference ? report : { ...report, clockWords: OWN_CLOCK };
}
