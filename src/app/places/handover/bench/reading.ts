/** Reads the recording of a trial, through the same readers and the same job as everywhere, in an engine of its own that is closed again. */
import { silentObservation } from '../../../../handover/bench/observe.ts';
import type { BenchRecord } from '../../../../handover/bench/record-schema.ts';
import { observedTrial } from '../../../../handover/bench/run-trial.ts';
import type { TrialToRun } from '../../../../handover/bench/trial-files.ts';
import type { Engine } from '../../../../jobs/engine-types.ts';
import { Cancelled } from '../../../../kit/control.ts';
import { describeProblem } from '../../../../kit/outcome.ts';
import { createEngine } from '../../../engines.ts';
import { sourceOf } from '../../../file-sources.ts';
import type { BenchOf } from './kept.ts';
import { useBenchView } from './store.ts';

export interface TrialRead extends BenchOf {
  readonly record: BenchRecord;
  readonly trial: TrialToRun;
}

/** Of files that name no bus: the only one that trials speak of. */
function onlyBus({ map }: BenchOf): string | undefined {
  const buses = new Set(map.frames.map(({ bus }) => bus));
  return buses.size === 1 ? [...buses][0] : undefined;
}

async function observe(
  engine: Engine,
  files: readonly File[],
  of: TrialRead,
  stopping: AbortController,
): Promise<void> {
  const { set, follows } = useBenchView.getState();
  const bus = onlyBus(of);
  const inputs = files.map((file) => ({ source: sourceOf(file.name, file), ...(bus ? { bus } : {}) }));
  const total = files.reduce((sum, { size }) => sum + size, 0);
  const stop = (): void => stopping.abort();
  const opened = await engine.open(
    inputs,
    {},
    ({ bytesRead }) => set({ reading: { share: total > 0 ? bytesRead / total : 0, stop } }),
    { signal: stopping.signal },
  );
  if (!opened.ok) return set({ problem: opened.problems.map(describeProblem).join(' ') });
  const { frames } = of.map;
  const trial = observedTrial(of, of.trial.value ? follows : null);
  const request = { job: 'trial' as const, map: { frames }, trial };
  const observed = await engine.analyse<'trial'>(request, { signal: stopping.signal });
  const title = files.map(({ name }) => name).join(', ');
  const told = opened.value.files.map(({ name, bytes, sha256 }) => ({ name, bytes, sha256 }));
  set({ observed: { trial: of.trial, capture: { title, files: told }, observed } });
}

export async function readTrial(files: readonly File[], of: TrialRead): Promise<void> {
  if (files.length === 0) return;
  const { reading, set } = useBenchView.getState();
  reading?.stop();
  const stopping = new AbortController();
  set({ reading: { share: 0, stop: () => stopping.abort() }, observed: null, problem: null });
  const engine = createEngine();
  try {
    await observe(engine, files, of, stopping);
  } catch (error) {
    if (!stopping.signal.aborted && !(error instanceof Cancelled))
      set({ problem: error instanceof Error ? error.message : String(error) });
  } finally {
    set({ reading: null });
    await engine.close();
  }
}

/** Nothing at all was heard while nothing was sent. */
export function silentTrial({ trial }: TrialRead): void {
  const observed = silentObservation(trial.settleS);
  useBenchView.getState().set({ observed: { trial, capture: null, observed }, problem: null });
}
