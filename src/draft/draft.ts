/**
 * Everything in one go: survey, fields, links, fits, and from them a signal map. Each step is the same function that the
 * single verbs and the page call; only here do they meet.
 */
import { isClockTold } from '../actions/clock.ts';
import { marksOnCapture } from '../actions/marks.ts';
import { linkFields, type LinkInput } from '../actions/link.ts';
import { findSequences } from '../actions/sequences.ts';
import type { LinkReport, Mark, MarkFile } from '../actions/types.ts';
import { findFieldsOfStream } from '../fields/find.ts';
import { findSameValues } from '../fields/same-value/find.ts';
import type { SameValueReport } from '../fields/same-value/types.ts';
import type { FrameFindings } from '../fields/types.ts';
import { walkSteps } from '../frames/pictures/steps.ts';
import { streamName, type FrameTable, type Stream } from '../frames/table.ts';
import { checkpoint, part, sideBySide, type Control } from '../kit/control.ts';
import type { SignalMap } from '../map/schema.ts';
import { diagnosticsOf } from '../reference/diagnostics/report.ts';
import { fitFields, type FitInput } from '../reference/fit.ts';
import type { FitReport, ReferenceFile } from '../reference/types.ts';
import { settleSenders } from '../timing/senders/settle-senders.ts';
import { surveyKnown, surveyModes, weighSurvey, wholeSpan, type SurveyKnown } from '../timing/survey.ts';
import type { BusRates, Survey } from '../timing/types.ts';
import { assembleMap } from './assemble.ts';
import { partAsked } from './broadcasts.ts';
import { findMeaning, type MeaningReport } from './meaning.ts';
import { guardHints } from './guard-hints.ts';
import { findRest, restPayloads } from './rest.ts';
import { isOfStream, type Decision, type HandWork } from './types.ts';

/** Answers a question about the capture's fields. */
type Finder<Question, Answer> = (
  findings: readonly FrameFindings[],
  question: Question,
  control: Control,
) => Promise<Answer>;

export interface DraftInput extends HandWork {
  readonly table: FrameTable;
  readonly rates: BusRates;
  readonly marks?: MarkFile | null;
  readonly marksOffset?: 'auto' | number;
  readonly reference?: ReferenceFile | null;
  readonly referenceOffset?: 'auto' | number;
  /** Of the capture, for people; default "capture". */
  readonly title?: string;
  readonly part?: Partial<SignalMap['part']>;
  /** ISO 8601 and "loomscribe 0.1.0". */
  readonly now: string;
  readonly by: string;
  readonly seed: number;
  /** Finds the fields of all received streams; in place by default, on several threads where the caller has them. */
  readonly findFields?: (control: Control) => Promise<readonly FrameFindings[]>;
  /** What needs only fields, each done in place by default, on a thread of its own where the caller has them: the fields that show the same quantity. */
  readonly findSame?: Finder<{ readonly seed: number }, SameValueReport>;
  /** Ties fields to the marks. */
  readonly findLinks?: Finder<Omit<LinkInput, 'table' | 'findings'>, LinkReport>;
  /** Fits fields to the reference. */
  readonly findFits?: Finder<Omit<FitInput, 'table' | 'findings'>, FitReport>;
}

export interface Draft {
  readonly map: SignalMap;
  readonly survey: Survey;
  readonly findings: readonly FrameFindings[];
  /** Of these what modules send by themselves: no tester's questions and answers. */
  readonly broadcasts: readonly FrameFindings[];
  readonly links: LinkReport | null;
  readonly fits: FitReport | null;
  readonly same: SameValueReport;
  readonly meaning: MeaningReport;
}

const decisionsFor = (stream: Stream, decisions: readonly Decision[]): Decision[] =>
  decisions.filter((decision) => isOfStream(stream, decision));

async function findAll(
  table: FrameTable,
  decisions: readonly Decision[],
  seed: number,
  control: Control,
): Promise<FrameFindings[]> {
  const received = table.streams.filter(({ direction }) => direction === 'received');
  const findings: FrameFindings[] = [];
  for (const [index, stream] of received.entries()) {
    await checkpoint(control, index / received.length, `fields of ${streamName(stream)}`);
    findings.push(findFieldsOfStream(stream, { decisions: decisionsFor(stream, decisions), seed }));
  }
  return findings;
}

/** Marks on the capture's clock, for telling when nothing was done. */
function settledMarks(marks: MarkFile | null | undefined, links: LinkReport | null, table: FrameTable): Mark[] {
  return marks && links ? marksOnCapture(marks, table.origin.text, links.clock) : [];
}

function captureOf(table: FrameTable, title: string): SignalMap['captures'][number] {
  const files = table.files.map(({ name, bytes, sha256 }) => ({ name, bytes, sha256 }));
  return { id: 'c1', title, files };
}

interface Answers {
  readonly links: LinkReport | null;
  readonly fits: FitReport | null;
  readonly same: SameValueReport;
  readonly known: SurveyKnown;
}

/** About how long each takes beside the others, where it is asked for. */
const EFFORT = { links: 0.5, fits: 0.1, same: 0.15, known: 0.25 };

/** What needs only fields: side by side, as none of it needs another's answer. */
async function answersOf(
  input: DraftInput,
  findings: readonly FrameFindings[],
  broadcasts: readonly FrameFindings[],
  control: Control,
): Promise<Answers> {
  const { table, marks, reference, seed, marksOffset = 'auto', referenceOffset = 'auto' } = input;
  const {
    findLinks = (given, question, own) => linkFields({ ...question, table, findings: given }, own),
    findFits = (given, question, own) => fitFields({ ...question, table, findings: given }, own),
    findSame = (given, question, own) => findSameValues({ ...question, table, findings: given }, own),
  } = input;
  const weights = [marks ? EFFORT.links : 0, reference ? EFFORT.fits : 0, EFFORT.same, EFFORT.known];
  const [ofLinks, ofFits, ofSame, ofKnown] = sideBySide(control, weights) as [Control, Control, Control, Control];
  const [links, fits, same, known] = await Promise.all([
    marks ? findLinks(broadcasts, { marks, offset: marksOffset, seed }, ofLinks) : null,
    reference ? findFits(broadcasts, { reference, offset: referenceOffset, seed }, ofFits) : null,
    findSame(broadcasts, { seed }, ofSame),
    surveyOf(table, findings, ofKnown),
  ]);
  return { links, fits, same, known };
}

async function surveyOf(table: FrameTable, findings: readonly FrameFindings[], control: Control): Promise<SurveyKnown> {
  await checkpoint(control, 0, 'survey');
  const known = await walkSteps(surveyKnown(table, guardHints(findings)), control);
  await checkpoint(control, 1, 'surveyed');
  return known;
}

/** Drafts the signal map of one capture. Deterministic for one seed. */
export async function draftMap(input: DraftInput, control: Control): Promise<Draft> {
  const { table, rates, marks, seed } = input;
  const fieldControl = part(control, 0, 0.38);
  const findings = input.findFields
    ? await input.findFields(fieldControl)
    : await findAll(table, input.decisions ?? [], seed, fieldControl);
  const { broadcasts, asked } = partAsked(diagnosticsOf(table).report, findings);
  const { same, links, fits, known } = await answersOf(input, findings, broadcasts, part(control, 0.38, 0.85));
  await checkpoint(control, 0.85, 'modes');
  const settled = settledMarks(marks, links, table);
  const { senders = [], senderMoves = [] } = input;
  const naming = marks && links && isClockTold(links.clock, marks.timeBase, table.origin) ? settled : [];
  const modes = await walkSteps(surveyModes(table, known, naming), control);
  const surveyed = await walkSteps(weighSurvey(table, known, modes, rates, wholeSpan(table)), control);
  const survey = settleSenders(surveyed, { senders, senderMoves });
  await checkpoint(control, 0.88, 'rest payloads');
  const span = findRest(table, findings, settled);
  const sequences =
    naming.length > 0
      ? await findSequences(
          { table, findings: broadcasts, marks: naming, senders: survey.frames },
          part(control, 0.88, 0.92),
        )
      : [];
  const meaning = await findMeaning({ table, findings: broadcasts, survey, links, seed }, part(control, 0.92, 1));
  const map = assembleMap({
    sequences,
    meaning,
    survey,
    findings,
    asked,
    links,
    fits,
    same,
    rest: span ? restPayloads(table, span) : [],
    signals: input.signals ?? [],
    decisions: input.decisions ?? [],
    frameNames: input.frameNames ?? [],
    partSenders: input.partSenders ?? [],
    part: { title: '', donor: '', notes: '', ...input.part },
    captures: [captureOf(table, input.title ?? 'capture')],
    made: { by: input.by, at: input.now },
  });
  await checkpoint(control, 1, 'map drafted');
  return { map, survey, findings, broadcasts, links, fits, same, meaning };
}
