/** Reads a capture and marks, and ties fields to actions. */
import type { LinkReport, MarkFile } from '../../actions/types.ts';
import { partAsked } from '../../draft/broadcasts.ts';
import { part } from '../../kit/control.ts';
import { diagnosticsOf } from '../../reference/diagnostics/report.ts';
import { analyse, analyseFields, openCapture, type CaptureRequest, type TaskContext } from './context.ts';
import { warnMarksOutside } from './outside.ts';

export interface LinkRequest extends CaptureRequest {
  readonly marks: MarkFile;
  readonly offset: 'auto' | number;
  readonly seed: number;
  /** Report the tests that claim nothing, too. */
  readonly all: boolean;
}

export async function linkTask(request: LinkRequest, context: TaskContext): Promise<LinkReport> {
  const table = await openCapture(request, context, part(context.control, 0, 0.2));
  const found = await analyseFields(table, context, part(context.control, 0.2, 0.6));
  const { broadcasts: findings } = partAsked(diagnosticsOf(table).report, found);
  const { marks, offset, seed } = request;
  const unsureShown = request.all ? Infinity : 0;
  const asked = { job: 'link' as const, findings, marks, offset, seed, unsureShown };
  const report = await analyse('link', table, asked, context, part(context.control, 0.6, 1));
  warnMarksOutside(table, marks, report.clockOffsetS, context);
  return report;
}
