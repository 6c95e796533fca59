/** Reads a capture and proposes the payload structure of every identifier. */
import { withSameValue } from '../../fields/same-value/evidence.ts';
import { toMapFrame } from '../../fields/to-map-frame.ts';
import { asAsked, askedOf } from '../../draft/broadcasts.ts';
import { isFrame, type Decision, type FrameKey } from '../../draft/types.ts';
import type { SameValueReport } from '../../fields/same-value/types.ts';
import type { FrameFindings } from '../../fields/types.ts';
import { walkSteps } from '../../frames/pictures/steps.ts';
import type { FrameTable } from '../../frames/table.ts';
import type { CannotBeProduced } from '../../handover/needs/cannot-be-produced.ts';
import { toldEarly } from '../../handover/needs/told-early.ts';
import { part } from '../../kit/control.ts';
import type { MapFrame } from '../../map/schema.ts';
import { diagnosticsOf } from '../../reference/diagnostics/report.ts';
import { surveySteps } from '../../timing/survey.ts';
import type { Survey } from '../../timing/types.ts';
import { analyse, analyseFields, openCapture, type CaptureRequest, type TaskContext } from './context.ts';

const SEED = 1;
/** As a draft of the same capture calls it. */
const CAPTURE_ID = 'c1';

export interface FieldsRequest extends CaptureRequest {
  /** What a person decided; it binds the finders. */
  readonly decisions: readonly Decision[];
}

interface Found {
  readonly findings: readonly FrameFindings[];
  readonly same: SameValueReport;
}

interface FieldsAnswer {
  readonly frames: readonly MapFrame[];
  /** Which of them a tester sends, or what answers it: no structure is proposed for these. */
  readonly asked: readonly FrameKey[];
  /** Keyed tags, pairing. */
  readonly cannotBeProduced: readonly CannotBeProduced[];
}

export async function fieldsTask(request: FieldsRequest, context: TaskContext): Promise<FieldsAnswer> {
  const table = await openCapture(request, context, part(context.control, 0, 0.3));
  // The survey works in this thread while the finders work in theirs.
  const [{ findings, same }, survey] = await Promise.all([
    findIn(table, request.decisions, context),
    walkSteps(surveySteps(table, {}), context.control),
  ]);
  const asked = askedOf(diagnosticsOf(table).report);
  const frames = findings.map((finding) => {
    const frame = toMapFrame(finding, timingOf(survey, finding));
    return asked.some((key) => isFrame(frame, key)) ? asAsked(frame) : frame;
  });
  const told = (frame: MapFrame): MapFrame => ({
    ...frame,
    signals: frame.signals.map((signal) => withSameValue(signal, frame, same, CAPTURE_ID)),
  });
  return { frames: frames.map(told), asked, cannotBeProduced: toldEarly(table, survey, frames) };
}

async function findIn(table: FrameTable, decisions: readonly Decision[], context: TaskContext): Promise<Found> {
  const findings = await analyseFields(table, context, part(context.control, 0.3, 0.8), decisions);
  const question = { job: 'same' as const, findings, seed: SEED };
  return { findings, same: await analyse('same', table, question, context, part(context.control, 0.8, 1)) };
}

function timingOf(survey: Survey, key: { bus: string; id: string; extended: boolean }): MapFrame['timing'] {
  const row = survey.frames.find(
    (frame) =>
      frame.bus === key.bus && frame.id === key.id && frame.extended === key.extended && frame.direction === 'received',
  );
  return row?.timing ?? { kind: 'once', periodMs: null, jitterMs: null };
}
