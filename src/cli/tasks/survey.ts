/** Reads a capture and takes its inventory. */
import { alignMarks } from '../../actions/marks.ts';
import type { MarkFile } from '../../actions/types.ts';
import { part } from '../../kit/control.ts';
import { settleSenders, type SenderHand } from '../../timing/senders/settle-senders.ts';
import { surveyTable } from '../../timing/survey.ts';
import type { Survey } from '../../timing/types.ts';
import { checkRateNames, ratesFor, type GivenRates } from '../capture-arguments.ts';
import { openCapture, type CaptureRequest, type TaskContext } from './context.ts';
import { warnMarksOutside } from './outside.ts';

export interface SurveyRequest extends CaptureRequest {
  readonly rates: GivenRates;
  /** Seconds of the capture to survey; null for all of it. */
  readonly trim: { readonly fromS: number; readonly toS: number } | null;
  /** They name modes; null without any. */
  readonly marks: MarkFile | null;
  /** 'auto' takes the marks' clock for the capture's: only fields could find what lies between, and a survey has none. */
  readonly marksOffset: 'auto' | number;
  /** Letters, names and moves of senders in the dossier; null without one. */
  readonly hand: SenderHand | null;
}

export interface SurveyAnswer {
  readonly survey: Survey;
  /** How each file was read, in words. */
  readonly readings: readonly { readonly file: string; readonly why: string }[];
}

export async function surveyTask(request: SurveyRequest, context: TaskContext): Promise<SurveyAnswer> {
  const table = await openCapture(request, context, part(context.control, 0, 0.9));
  checkRateNames(table.buses, request.rates);
  const offsetS = request.marksOffset === 'auto' ? 0 : request.marksOffset;
  const marks = request.marks ? alignMarks(request.marks, table.origin.text) : [];
  if (request.marks) warnMarksOutside(table, request.marks, offsetS, context);
  const settled = marks.map((mark) => ({
    ...mark,
    startS: mark.startS + offsetS,
    endS: mark.endS === null ? null : mark.endS + offsetS,
  }));
  const survey = surveyTable(table, ratesFor(table.buses, request.rates), request.trim ?? undefined, settled);
  return {
    survey: request.hand ? settleSenders(survey, request.hand) : survey,
    readings: table.files.map((file) => ({ file: file.name, why: file.why })),
  };
}
