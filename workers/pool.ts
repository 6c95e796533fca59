/**
 * Compute workers for one long job: started as parts need them, given one part at a time, ended with the job. Ending them is how a job is
 * cancelled: a busy worker hears nothing.
 */
import * as Comlink from 'comlink';
import { buffersOf, copyTable } from '../src/jobs/post.ts';
import type { PartRunner } from '../src/jobs/run-analysis.ts';
import { Cancelled } from '../src/kit/control.ts';
import type { ComputeHost } from './compute-host.ts';

export interface ComputeThread {
  readonly remote: Comlink.Remote<ComputeHost>;
  /** Told once when the thread dies of itself. */
  onFailure(tell: (error: Error) => void): void;
  end(): void;
}

/** Progress tells little more often than this, and each report is a message. */
const PROGRESS_STEP = 0.01;

export function createPool(spawn: () => ComputeThread, breadth: number): PartRunner {
  const threads = new Set<ComputeThread>();
  const idle: ComputeThread[] = [];
  let fail: (error: Error) => void = () => undefined;
  const failed = new Promise<never>((_resolve, reject) => {
    fail = reject;
  });
  failed.catch(() => undefined);
  const start = (): ComputeThread => {
    const thread = spawn();
    thread.onFailure(fail);
    threads.add(thread);
    return thread;
  };
  return {
    breadth,
    async run(job, request, table, control) {
      const thread = idle.pop() ?? start();
      const copy = await copyTable(table, control.breathe);
      const onProgress = Comlink.proxy((progress: { share: number; note: string }) => control.onProgress?.(progress));
      const posted = Comlink.transfer(copy, buffersOf(copy));
      const answer = await Promise.race([thread.remote.run(job, request, posted, onProgress), failed]);
      idle.push(thread);
      return answer;
    },
    end() {
      fail(new Cancelled());
      for (const thread of threads) thread.end();
      threads.clear();
      idle.length = 0;
    },
  };
}

/** Lets through progress that moved by a step or changed its words. */
export function thinProgress<P extends { share: number; note: string }>(
  tell: (progress: P) => void,
): (progress: P) => void {
  let share = -1;
  return (progress) => {
    if (progress.share < 1 && progress.share < share + PROGRESS_STEP) return;
    share = progress.share;
    tell(progress);
  };
}
