/** Reads a capture and proposes the payload structure of every identifier. */
import { withSameValue } from '../../fields/same-value-evidence.ts';
import { toMapFrame } from '../../fields/to-map-frame.ts';
import type { Decision } from '../../draft/types.ts';
import { part } from '../../kit/control.ts';
import type { MapFrame } from '../../map/schema.ts';
import { surveyTable } from '../../timing/survey.ts';
import { analyse, analyseFields, openCapture, type CaptureRequest, type TaskContext } from './context.ts';

const SEED = 1;
/** As a draft of the same capture calls it. */
const CAPTURE_ID = 'c1';

export interface FieldsRequest extends CaptureRequest {
  /** What a person decided; it binds the finders. */
  readonly decisions: readonly Decision[];
}

export async function fieldsTask(request: FieldsRequest, context: TaskContext): Promise<{ frames: MapFrame[] }> {
  const table = await openCapture(request, context, part(context.control, 0, 0.3));
  const findings = await analyseFields(table, context, part(context.control, 0.3, 0.9), request.decisions);
  const asked = { job: 'same' as const, findings, seed: SEED };
  const same = await analyse('same', table, asked, context, part(context.control, 0.9, 1));
  const survey = surveyTable(table, {});
  const frames = findings.map((finding) => toMapFrame(finding, timingOf(survey, finding)));
  const told = (frame: MapFrame): MapFrame => ({
    ...frame,
    signals: frame.signals.map((signal) => withSameValue(signal, frame, same, CAPTURE_ID)),
  });
  return { frames: frames.map(told) };
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
