/** What a task may use while it runs in its worker thread: control, warnings to the person, opened captures. */
import { habitsOf } from '../../fields/habits.ts';
import type { ReadOptions } from '../../frames/reading-types.ts';
import type { ByteSource, CaptureInput } from '../../frames/source.ts';
import type { FrameTable, Stream } from '../../frames/table.ts';
import { isOfStream, type Decision } from '../../draft/types.ts';
import { checkpoint, type Control } from '../../kit/control.ts';
import { describeProblem, type Outcome, type Problem } from '../../kit/outcome.ts';
import type { AnalysisAnswers, AnalysisName, AnalysisRequestOf } from '../../jobs/analyses/catalogue.ts';
import { readFrames } from '../../jobs/read-frames.ts';
import { runAnalysis, type PartRunner } from '../../jobs/run-analysis.ts';
import { CannotDo } from '../arguments.ts';
import type { CaptureFile } from '../capture-arguments.ts';
import { fileSource, platformDigest, readText, standardInput } from '../files.ts';
import { wholeLines } from '../growing.ts';

export interface TaskContext {
  readonly control: Control;
  /** Compute threads for one long job. */
  readonly createRunner: () => PartRunner;
  warn(problem: Problem): void;
}

export interface CaptureRequest {
  readonly files: readonly CaptureFile[];
  /** A logger is still writing them: each is read to its last whole line. */
  readonly growing?: boolean;
  readonly read: ReadOptions;
}

/** What is left out of a file that grows is said: it is no broken line. */
async function wholeSource(path: string, context: TaskContext): Promise<ByteSource> {
  const { source, leftOut } = await wholeLines(await fileSource(path));
  const behind = leftOut === 0 ? '' : ` The ${leftOut} bytes behind it are a line under way.`;
  const message = `read to its last whole line, ${source.size} bytes.${behind}`;
  context.warn({ code: 'still-growing', message, place: { file: source.name } });
  return source;
}

async function openInput(file: CaptureFile, growing: boolean, context: TaskContext): Promise<CaptureInput> {
  const opened = (): Promise<ByteSource> => (growing ? wholeSource(file.path, context) : fileSource(file.path));
  const source = file.path === '-' ? await standardInput() : await opened();
  return { source, ...(file.bus ? { bus: file.bus } : {}) };
}

const PROBLEMS_SHOWN = 10;

function problemsText(problems: readonly Problem[]): string {
  const more = problems.length - PROBLEMS_SHOWN;
  const shown = problems.slice(0, PROBLEMS_SHOWN).map(describeProblem);
  return [...shown, ...(more > 0 ? [`and ${more} more of the kind.`] : [])].join('\n');
}

/** The value, or CannotDo with the problems in words; warnings go to the person. */
export function valueOf<T>(outcome: Outcome<T>, context: Pick<TaskContext, 'warn'>): T {
  if (!outcome.ok) throw new CannotDo(problemsText(outcome.problems));
  outcome.warnings.forEach((warning) => context.warn(warning));
  return outcome.value;
}

function reportRejects(table: FrameTable, context: TaskContext): void {
  for (const file of table.files) {
    if (file.rejected === 0) continue;
    const first = file.rejects[0];
    context.warn({
      code: 'lines-rejected',
      message: `${file.rejected} of ${file.lines} lines are not frames${first ? `; the first: line ${first.line}, ${first.reason}` : ''}.`,
      place: { file: file.name },
    });
  }
}

/** @throws CannotDo where a file cannot be opened or nothing in it can be a frame. */
export async function openCapture(
  request: CaptureRequest,
  context: TaskContext,
  control = context.control,
): Promise<FrameTable> {
  const inputs = await Promise.all(request.files.map((file) => openInput(file, request.growing ?? false, context)));
  await checkpoint(control, 0, 'reading');
  const read = { ...request.read, createDigest: platformDigest };
  const table = valueOf(await readFrames(inputs, read, control), context);
  reportRejects(table, context);
  return table;
}

/** Reads and parses a small text file. */
export async function parseFile<T>(
  path: string,
  parse: (text: string, name: string) => Outcome<T>,
  context: Pick<TaskContext, 'warn'>,
): Promise<T> {
  return valueOf(parse(await readText(path), path), context);
}

/** One of the catalogue's long jobs, on as many threads as the machine has to spare. */
export async function analyse<Name extends AnalysisName>(
  name: Name,
  table: FrameTable,
  request: AnalysisRequestOf<Name>,
  context: TaskContext,
  control: Control,
): Promise<AnalysisAnswers[Name]> {
  return (await runAnalysis(table, name, request, context.createRunner(), control)) as AnalysisAnswers[Name];
}

type FieldAnswers = AnalysisAnswers['fields'];

/** The structure of every identifier that the vehicle sent; what a person decided about one binds there. */
export async function analyseFields(
  table: FrameTable,
  context: TaskContext,
  control: Control,
  decisions: readonly Decision[] = [],
): Promise<FieldAnswers> {
  const streams = table.streams.filter((stream) => stream.direction === 'received');
  const decided = (stream: Stream): Decision[] => decisions.filter((decision) => isOfStream(stream, decision));
  const free = streams.filter((stream) => decided(stream).length === 0);
  const bound = streams.filter((stream) => decided(stream).length > 0);
  const answers = [await analyse('fields', table, { job: 'fields', streams: free, options: {} }, context, control)];
  const habits = habitsOf(answers.flat());
  for (const stream of bound) {
    const request = { job: 'fields' as const, streams: [stream], options: { decisions: decided(stream), habits } };
    answers.push(await analyse('fields', table, request, context, {}));
  }
  return answers.flat();
}
