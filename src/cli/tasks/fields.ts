/** Reads a capture and proposes the payload structure of every identifier. */
import { toMapFrame } from '../../fields/to-map-frame.ts';
import { part } from '../../kit/control.ts';
import type { MapFrame } from '../../map/schema.ts';
import { surveyTable } from '../../timing/survey.ts';
import { analyseFields, openCapture, type CaptureRequest, type TaskContext } from './context.ts';

export async function fieldsTask(request: CaptureRequest, context: TaskContext): Promise<{ frames: MapFrame[] }> {
  const table = await openCapture(request, context, part(context.control, 0, 0.3));
  const findings = await analyseFields(table, context, part(context.control, 0.3, 1));
  const survey = surveyTable(table, {});
  return { frames: findings.map((finding) => toMapFrame(finding, timingOf(survey, finding))) };
}

function timingOf(
  survey: ReturnType<typeof surveyTable>,
  key: { bus: string; id: string; extended: boolean },
): MapFrame['timing'] {
  const row = survey.frames.find(
    (frame) =>
      frame.bus === key.bus && frame.id === key.id && frame.extended === key.extended && frame.direction === 'received',
  );
  return row?.timing ?? { kind: 'once', periodMs: null, jitterMs: null };
}
