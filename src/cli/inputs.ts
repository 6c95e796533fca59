/**
 * What a verb works on, from its words: a capture's files, marks and references, given one by one or all at
 * once by a dossier. Words win over the dossier where both speak.
 */
import { dirname, join } from 'node:path';
import type { MarkFile } from '../actions/types.ts';
import { parseMarks } from '../actions/marks.ts';
import { withConfirmed } from '../draft/confirmed.ts';
import type { HandWork } from '../draft/types.ts';
import { parseDossier } from '../jobs/dossier-file.ts';
import type { Dossier, DossierCapture } from '../jobs/dossier.ts';
import { parseReference } from '../reference/reference-file.ts';
import type { ReferenceFile } from '../reference/types.ts';
import type { ReadOptions } from '../frames/reading-types.ts';
import { CannotDo, offsetOf, WrongUsage, type ParsedWords } from './arguments.ts';
import { captureFiles, givenRates, readOptions, type GivenRates } from './capture-arguments.ts';
import { readText } from './files.ts';
import { namedCaptures } from './short-captures.ts';
import type { CaptureRequest, TaskContext } from './tasks/context.ts';
import { parseFile } from './tasks/context.ts';
import type { NamedRequest } from './tasks/link-short.ts';
import type { Terminal } from './terminal.ts';

export interface Inputs {
  readonly capture: CaptureRequest;
  readonly rates: GivenRates;
  readonly marks: MarkFile | null;
  readonly reference: ReferenceFile | null;
  /** Given in words; else as set in the dossier whose marks are taken. */
  readonly marksOffset: 'auto' | number;
  readonly referenceOffset: 'auto' | number;
  /** The part of the capture that the person kept; null for all of it. */
  readonly trim: { readonly fromS: number; readonly toS: number } | null;
  readonly dossier: Dossier | null;
}

const asContext = (terminal: Terminal): Pick<TaskContext, 'warn'> => ({ warn: (problem) => terminal.warn(problem) });

/** The capture called main, else the first. */
function mainCapture(dossier: Dossier): DossierCapture | undefined {
  return dossier.captures.find((capture) => capture.role === 'main') ?? dossier.captures[0];
}

function captureOf(parsed: ParsedWords, path: string | undefined, chosen: DossierCapture | undefined): CaptureRequest {
  const read = readOptions(parsed);
  if (parsed.words.length > 0) return { files: captureFiles(parsed.words), read };
  if (!path || !chosen) throw new WrongUsage('Name the capture: one or more files, or --dossier FILE.');
  return requestOf(path, chosen, read);
}

/** A dossier's capture as it is opened; its files lie beside the dossier. */
function requestOf(path: string, capture: DossierCapture, read: ReadOptions): CaptureRequest {
  const files = capture.files.map((file) => ({
    path: join(dirname(path), file.name),
    ...(file.bus ? { bus: file.bus } : {}),
  }));
  return { files, read: { ...(capture.zone ? { zone: capture.zone } : {}), columns: capture.columns, ...read } };
}

/** Short captures of the dossier named after one action each; null where there are none or others were asked for. */
export function shortCapturesOf(parsed: ParsedWords, { dossier }: Inputs, terminal: Terminal): NamedRequest[] | null {
  const path = parsed.one('dossier');
  if (!dossier || !path || parsed.words.length > 0) return null;
  return namedCaptures(dossier, (capture) => requestOf(path, capture, readOptions(parsed)), terminal);
}

function marksOf(capture: DossierCapture | undefined): MarkFile | null {
  if (!capture || capture.marks.length === 0) return null;
  return { marks: capture.marks.map(({ key: _key, ...mark }) => mark), timeBase: capture.markTimeBase };
}

/** References of one clock are judged together: those on another clock than the first are said to be left out. */
function referenceOf(capture: DossierCapture | undefined, terminal: Terminal): ReferenceFile | null {
  const [first] = capture?.references ?? [];
  if (!capture || !first) return null;
  const same = capture.references.filter((series) => series.timeBase === first.timeBase);
  const others = capture.references.filter((series) => series.timeBase !== first.timeBase);
  if (others.length > 0) {
    terminal.warn({
      code: 'references-on-another-clock',
      message: `${others.map(({ name }) => name).join(', ')} count time from another start than ${first.name} and are left out.`,
      advice: 'Give them in a file of their own with --reference.',
    });
  }
  return {
    timeBase: first.timeBase,
    series: same.map(({ name, unit, timeS, value }) => ({
      name,
      unit,
      timeS: Float64Array.from(timeS),
      value: Float64Array.from(value),
    })),
  };
}

function marksOffsetOf(parsed: ParsedWords, capture: DossierCapture | undefined): 'auto' | number {
  const given = parsed.one('marks-offset');
  return given === undefined ? (capture?.markOffset ?? 'auto') : offsetOf(given, 'marks-offset');
}

function referenceOffsetOf(parsed: ParsedWords, capture: DossierCapture | undefined): 'auto' | number {
  const given = parsed.one('reference-offset');
  return given === undefined ? (capture?.referenceOffset ?? 'auto') : offsetOf(given, 'reference-offset');
}

/** What the dossier's person decided, as a draft takes it; the signals they named bind the finders as well. */
export const handWorkOf = ({
  signals,
  decisions,
  frameNames,
  senders,
  senderMoves,
  partSenders,
}: Dossier): HandWork => ({
  signals,
  decisions: withConfirmed(decisions, signals),
  frameNames,
  senders,
  senderMoves,
  partSenders,
});

async function loadDossier(path: string, terminal: Terminal): Promise<Dossier> {
  const outcome = parseDossier(await readText(path), path);
  if (!outcome.ok) throw new CannotDo(outcome.problems.map((problem) => problem.message).join('\n'));
  outcome.warnings.forEach((warning) => terminal.warn(warning));
  return outcome.value;
}

export async function inputsFrom(parsed: ParsedWords, terminal: Terminal): Promise<Inputs> {
  const path = parsed.one('dossier');
  const dossier = path ? await loadDossier(path, terminal) : null;
  const chosen = dossier ? mainCapture(dossier) : undefined;
  const marksPath = parsed.one('marks');
  const referencePath = parsed.one('reference');
  const context = asContext(terminal);
  return {
    capture: captureOf(parsed, path, chosen),
    rates: givenRates(parsed, dossier?.rates),
    marks: marksPath ? await parseFile(marksPath, parseMarks, context) : marksOf(chosen),
    reference: referencePath ? await parseFile(referencePath, parseReference, context) : referenceOf(chosen, terminal),
    marksOffset: marksOffsetOf(parsed, marksPath ? undefined : chosen),
    referenceOffset: referenceOffsetOf(parsed, referencePath ? undefined : chosen),
    trim: parsed.words.length > 0 ? null : (chosen?.trim ?? null),
    dossier,
  };
}
