/** Reads a capture and takes its inventory; marks name its modes once it is known where they stand. */
import { isClockTold } from '../../actions/clock.ts';
import { linkFields, type LinkInput } from '../../actions/link.ts';
import { marksOnCapture } from '../../actions/marks.ts';
import { switchingBits } from '../../actions/switching-bits.ts';
import type { MarkFile, OffsetFinding } from '../../actions/types.ts';
import type { FrameTable } from '../../frames/table.ts';
import type { CannotBeProduced } from '../../handover/needs/cannot-be-produced.ts';
import { toldEarly } from '../../handover/needs/told-early.ts';
import { checkpoint, part, type Control } from '../../kit/control.ts';
import { diagnosticsOf, type DiagnosticsReport } from '../../reference/diagnostics/report.ts';
import { readMark } from '../../timing/modes/mark-states.ts';
import { settleSenders, type SenderHand } from '../../timing/senders/settle-senders.ts';
import { surveyTable } from '../../timing/survey.ts';
import type { ModeMark, Survey } from '../../timing/types.ts';
import { checkRateNames, ratesFor, type GivenRates } from '../capture-arguments.ts';
import { analyse, analyseFields, openCapture, type CaptureRequest, type TaskContext } from './context.ts';
import { warnMarksOutside } from './outside.ts';

export interface SurveyRequest extends CaptureRequest {
  readonly rates: GivenRates;
  /** Seconds of the capture to survey; null for all of it. */
  readonly trim: { readonly fromS: number; readonly toS: number } | null;
  /** They name modes; null without any. */
  readonly marks: MarkFile | null;
  /** 'auto' finds it in the data. */
  readonly marksOffset: 'auto' | number;
  readonly seed: number;
  /** Letters, names and moves of senders in the dossier; null without one. */
  readonly hand: SenderHand | null;
}

export type MarksClock = Pick<OffsetFinding, 'offsetS' | 'from' | 'words' | 'drift'>;

export interface SurveyAnswer {
  readonly survey: Survey;
  /** How the marks were laid on the capture; null without marks. */
  readonly marksClock: MarksClock | null;
  /** Who asks whom over the bus, and what is answered; of the whole capture. */
  readonly diagnostics: DiagnosticsReport;
  /** Pairing, as far as it shows before fields are known. */
  readonly cannotBeProduced: readonly CannotBeProduced[];
  /** How each file was read, in words. */
  readonly readings: readonly { readonly file: string; readonly why: string }[];
}

type ClockQuestion = Pick<LinkInput, 'marks' | 'offset' | 'seed' | 'unsureShown'>;

/** As `draft` does, over all fields: where the bits that switch tell nothing, numbers may. */
async function clockByFields(
  table: FrameTable,
  asked: ClockQuestion,
  context: TaskContext,
  control: Control,
): Promise<OffsetFinding> {
  const findings = await analyseFields(table, context, part(control, 0, 0.7));
  return (await analyse('link', table, { job: 'link', findings, ...asked }, context, part(control, 0.7, 1))).clock;
}

/** The marks' offset as given, or found: by bits that switch, and where they tell nothing over all fields; not searched for where no mark says anything of a mode. */
async function clockOf(
  table: FrameTable,
  {
    marks: file,
    marksOffset: offset,
    seed,
  }: Pick<SurveyRequest, 'marksOffset' | 'seed'> & { readonly marks: MarkFile },
  context: TaskContext,
  control: Control,
): Promise<MarksClock> {
  if (offset !== 'auto') return { offsetS: offset, from: 'given', words: `offset ${offset} s, given by hand` };
  if (!file.marks.some((mark) => readMark(mark) !== null))
    return { offsetS: 0, from: 'not-needed', words: 'no mark says anything of a mode' };
  const asked = { marks: file, offset, seed, unsureShown: 0 };
  const quick = await linkFields({ ...asked, table, findings: switchingBits(table) }, part(control, 0, 0.3));
  const clock =
    quick.clock.from === 'not-found' ? await clockByFields(table, asked, context, part(control, 0.3, 1)) : quick.clock;
  const { offsetS, from, words, drift } = clock;
  const told = { offsetS, from, words, ...(drift ? { drift } : {}) };
  if (isClockTold(clock, file.timeBase, table.origin)) return told;
  return { ...told, words: `${words}. No mode is named by them` };
}

function naming(file: MarkFile, table: FrameTable, clock: MarksClock): ModeMark[] {
  return isClockTold(clock, file.timeBase, table.origin) ? marksOnCapture(file, table.origin.text, clock) : [];
}

/** What the marks say of modes, on the capture's clock, and how they were laid on it; nothing without marks. */
export async function namedModes(
  table: FrameTable,
  request: Pick<SurveyRequest, 'marks' | 'marksOffset' | 'seed'>,
  context: TaskContext,
  control: Control,
): Promise<{ readonly named: readonly ModeMark[]; readonly clock: MarksClock | null }> {
  const { marks } = request;
  if (!marks) return { named: [], clock: null };
  const clock = await clockOf(table, { ...request, marks }, context, control);
  warnMarksOutside(table, marks, clock.offsetS, context);
  return { named: naming(marks, table, clock), clock };
}

export async function surveyTask(request: SurveyRequest, context: TaskContext): Promise<SurveyAnswer> {
  const { marks, trim, hand } = request;
  const table = await openCapture(request, context, part(context.control, 0, marks ? 0.3 : 0.9));
  checkRateNames(table.buses, request.rates);
  const { named, clock: marksClock } = await namedModes(table, request, context, part(context.control, 0.3, 0.9));
  await checkpoint(context.control, 0.9, 'survey');
  const survey = surveyTable(table, ratesFor(table.buses, request.rates), trim ?? undefined, named);
  return {
    survey: hand ? settleSenders(survey, hand) : survey,
    marksClock,
    diagnostics: diagnosticsOf(table).report,
    cannotBeProduced: trim ? [] : toldEarly(table, survey),
    readings: table.files.map((file) => ({ file: file.name, why: file.why })),
  };
}
