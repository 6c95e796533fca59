/** Runs a job's parts, several at a time where the runner can, and joins their answers. Progress is weighed by frames. */
import type { FrameTable } from '../frames/table.ts';
import { Cancelled, type Control } from '../kit/control.ts';
import { analysisJob, type AnalysisName } from './analyses/catalogue.ts';
import { tableOf, type AnalysisPart } from './analyses/job.ts';
import { onStop } from './stop.ts';

/** Where parts run: in place, or in compute workers. */
export interface PartRunner {
  /** Parts that may run at once. */
  readonly breadth: number;
  run(job: AnalysisName, request: unknown, table: FrameTable, control: Control): Promise<unknown>;
  /** Ends what still runs. */
  end(): void;
}

export function inPlaceRunner(): PartRunner {
  return {
    breadth: 1,
    run: (job, request, table, control) => analysisJob(job).run(request, table, control),
    end: () => undefined,
  };
}

interface Weights {
  /** Frames finished, of all; parts under way count by their own share. */
  report(place: number, share: number, note: string): void;
}

/** Progress from one share to another, weighed by frames; never backwards. */
function weigh(
  parts: readonly AnalysisPart<unknown>[],
  [from, to]: readonly [number, number],
  control: Control,
): Weights {
  const frames = parts.map((part) => 1 + part.streams.reduce((sum, stream) => sum + stream.count, 0));
  const total = frames.reduce((sum, count) => sum + count, 0);
  const shares = new Float64Array(parts.length);
  let reached = 0;
  return {
    report(place, share, note) {
      shares[place] = Math.max(shares[place] as number, share);
      const done = frames.reduce((sum, count, i) => sum + count * (shares[i] as number), 0) / total;
      reached = Math.max(reached, Math.min(1, done));
      control.onProgress?.({ share: from + (to - from) * reached, note });
    },
  };
}

interface Round {
  readonly name: AnalysisName;
  readonly runner: PartRunner;
  readonly table: FrameTable;
  readonly control: Control;
  readonly onPartial: ((answer: unknown) => void) | undefined;
}

/** The answers of all parts, as many at once as the runner takes. between: the shares of the whole that the round lies between. */
async function runRound(
  { name, runner, table, control, onPartial }: Round,
  parts: readonly AnalysisPart<unknown>[],
  between: readonly [number, number],
): Promise<unknown[]> {
  const answers: unknown[] = [];
  const weights = weigh(parts, between, control);
  let next = 0;
  const runLane = async (): Promise<void> => {
    while (next < parts.length) {
      if (control.signal?.aborted) throw new Cancelled();
      const place = next++;
      const part = parts[place] as AnalysisPart<unknown>;
      const onProgress = ({ share, note }: { share: number; note: string }): void => weights.report(place, share, note);
      const answer = await runner.run(name, part.request, tableOf(table, part.streams), { ...control, onProgress });
      if (control.signal?.aborted) throw new Cancelled();
      answers[place] = answer;
      weights.report(place, 1, `${place + 1} of ${parts.length}`);
      if (parts.length > 1) onPartial?.(answer);
      if (control.breathe) await control.breathe();
    }
  };
  await Promise.all(Array.from({ length: Math.max(1, Math.min(runner.breadth, parts.length)) }, runLane));
  return answers;
}

/** Where a job may have a second round, the share of the whole at which the first is taken to end. */
const FIRST_ROUND = 0.8;

/** @throws Cancelled when asked to stop; the runner is ended then, and after an error. */
export async function runAnalysis(
  table: FrameTable,
  name: AnalysisName,
  request: unknown,
  runner: PartRunner,
  control: Control,
  onPartial?: (answer: unknown) => void,
): Promise<unknown> {
  const job = analysisJob(name);
  const round: Round = { name, runner, table, control, onPartial };
  const endListening = onStop(control.signal, () => runner.end());
  try {
    const answers = await runRound(round, job.parts(request, table), [0, job.again ? FIRST_ROUND : 1]);
    const further = job.again?.(request, answers, table) ?? [];
    answers.push(...(await runRound(round, further, [FIRST_ROUND, 1])));
    if (further.length === 0) control.onProgress?.({ share: 1, note: 'done' });
    return job.join(answers, table);
  } finally {
    endListening();
    runner.end();
  }
}
