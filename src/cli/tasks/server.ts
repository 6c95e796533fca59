/** The worker thread's side: receives a task's name and request, runs it, answers. */
import type { Progress } from '../../kit/control.ts';
import type { Problem } from '../../kit/outcome.ts';
import type { PartRunner } from '../../jobs/run-analysis.ts';
import type { TaskContext } from './context.ts';
import { TASKS, type TaskAnswers, type TaskName, type TaskRequests } from './index.ts';

export interface TaskServer {
  run<Name extends TaskName>(
    name: Name,
    request: TaskRequests[Name],
    warn: (problem: Problem) => void,
    onProgress: ((progress: Progress) => void) | null,
  ): Promise<TaskAnswers[Name]>;
}

export function createTaskServer(createRunner: () => PartRunner): TaskServer {
  return {
    async run(name, request, warn, onProgress) {
      // Warnings are awaited before the answer, so that none is lost when the thread is ended.
      const said: unknown[] = [];
      const context: TaskContext = {
        createRunner,
        warn: (problem) => said.push(warn(problem)),
        control: {
          breathe: () => new Promise((done) => setImmediate(done)),
          ...(onProgress ? { onProgress } : {}),
        },
      };
      const task = TASKS[name] as (request: unknown, context: TaskContext) => Promise<never>;
      try {
        return await task(request, context);
      } finally {
        await Promise.all(said);
      }
    },
  };
}
