/** Reads a capture and takes its inventory. */
import { part } from '../../kit/control.ts';
import { settleSenders, type SenderHand } from '../../timing/senders/settle-senders.ts';
import { surveyTable } from '../../timing/survey.ts';
import type { Survey } from '../../timing/types.ts';
import { checkRateNames, ratesFor, type GivenRates } from '../capture-arguments.ts';
import { openCapture, type CaptureRequest, type TaskContext } from './context.ts';

export interface SurveyRequest extends CaptureRequest {
  readonly rates: GivenRates;
  /** Seconds of the capture to survey; null for all of it. */
  readonly trim: { readonly fromS: number; readonly toS: number } | null;
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
  const survey = surveyTable(table, ratesFor(table.buses, request.rates), request.trim ?? undefined);
  return {
    survey: request.hand ? settleSenders(survey, request.hand) : survey,
    readings: table.files.map((file) => ({ file: file.name, why: file.why })),
  };
}
