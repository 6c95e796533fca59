/**
 * Whether a recording suffices, in a minute: survey, fields and links, and nothing else of a draft. Where a draft is made anyway, its own findings
 * serve (`draft.ts`).
 */
import { isClockTold } from '../../actions/clock.ts';
import { alignMarks, marksOnCapture } from '../../actions/marks.ts';
import type { LinkReport, Mark, MarkFile } from '../../actions/types.ts';
import { partAsked } from '../../draft/broadcasts.ts';
import { guardHints } from '../../draft/guard-hints.ts';
import type { HandWork } from '../../draft/types.ts';
import type { FrameFindings } from '../../fields/types.ts';
import { walkSteps } from '../../frames/pictures/steps.ts';
import type { FrameTable } from '../../frames/table.ts';
import { checkpoint, part, sideBySide, type Control } from '../../kit/control.ts';
import { whatSuffices } from '../../proof/suffices/suffices.ts';
import type { DonorCan, Sufficiency } from '../../proof/suffices/types.ts';
import { diagnosticsOf } from '../../reference/diagnostics/report.ts';
import { settleSenders } from '../../timing/senders/settle-senders.ts';
import { surveyKnown, surveyModes, weighSurvey, wholeSpan } from '../../timing/survey.ts';
import type { Survey } from '../../timing/types.ts';
import { analyse, analyseFields, openCapture, type CaptureRequest, type TaskContext } from './context.ts';

export interface SufficesTaskRequest extends CaptureRequest {
  readonly marks: MarkFile | null;
  readonly marksOffset: 'auto' | number;
  readonly hand: HandWork;
  readonly donor: DonorCan;
  readonly seed: number;
}

/** Marks on the capture's clock; as they stand where nothing tells how the clocks lie. */
export function marksAsked(table: FrameTable, marks: MarkFile | null, links: LinkReport | null): Mark[] {
  if (!marks) return [];
  return links ? marksOnCapture(marks, table.origin.text, links.clock) : alignMarks(marks, table.origin.text);
}

export interface SufficesKnown {
  readonly survey: Survey;
  readonly broadcasts: readonly FrameFindings[];
  readonly links: LinkReport | null;
}

/** From what a draft has found out already. */
export function sufficesOf(
  table: FrameTable,
  { survey, broadcasts, links }: SufficesKnown,
  marks: MarkFile | null,
  donor: DonorCan,
): Sufficiency {
  return whatSuffices({ table, survey, findings: broadcasts, links, marks: marksAsked(table, marks, links), donor });
}

async function surveyOf(
  table: FrameTable,
  findings: readonly FrameFindings[],
  { senders = [], senderMoves = [] }: HandWork,
  control: Control,
): Promise<(naming: readonly Mark[]) => Promise<Survey>> {
  await checkpoint(control, 0, 'survey');
  const known = await walkSteps(surveyKnown(table, guardHints(findings)), control);
  return async (naming) => {
    const modes = await walkSteps(surveyModes(table, known, naming), control);
    return settleSenders(await walkSteps(weighSurvey(table, known, modes, {}, wholeSpan(table)), control), {
      senders,
      senderMoves,
    });
  };
}

export async function sufficesTask(request: SufficesTaskRequest, context: TaskContext): Promise<Sufficiency> {
  const { marks, marksOffset, hand, donor, seed } = request;
  const table = await openCapture(request, context, part(context.control, 0, 0.15));
  const findings = await analyseFields(table, context, part(context.control, 0.15, 0.6), hand.decisions);
  const { broadcasts } = partAsked(diagnosticsOf(table).report, findings);
  const [ofLinks, ofSurvey] = sideBySide(part(context.control, 0.6, 1), [0.6, 0.4]) as [Control, Control];
  const [links, surveyWith] = await Promise.all([
    marks
      ? analyse(
          'link',
          table,
          { job: 'link', findings: broadcasts, marks, offset: marksOffset, seed },
          context,
          ofLinks,
        )
      : null,
    surveyOf(table, findings, hand, ofSurvey),
  ]);
  const isTold = marks && links && isClockTold(links.clock, marks.timeBase, table.origin);
  const survey = await surveyWith(isTold ? marksAsked(table, marks, links) : []);
  return sufficesOf(table, { survey, broadcasts, links }, marks, donor);
}
