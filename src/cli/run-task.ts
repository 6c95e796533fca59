/**
 * Runs a task in a worker thread: the terminal stays alive, Ctrl C ends the work at once, and the code is the code that
 * the page runs in its workers.
 */
import { Worker } from 'node:worker_threads';
import { proxy, wrap, type Remote } from 'comlink';
import { endpointOf } from '../../workers/endpoint.node.ts';
import type { Problem } from '../kit/outcome.ts';
import { CannotDo, WrongUsage } from './arguments.ts';
import type { TaskName, TaskRequests, TaskAnswers } from './tasks/index.ts';
import type { TaskServer } from './tasks/server.ts';
import type { Terminal } from './terminal.ts';

const ENTRY = new URL('../../workers/task.node.mjs', import.meta.url);

/** Errors cross the thread by name and message; here they become ours again. */
function revived(error: unknown): unknown {
  const { name, message } = error as { name?: string; message?: string };
  if (name === 'CannotDo') return new CannotDo(message);
  if (name === 'WrongUsage') return new WrongUsage(message);
  return error;
}

/** @throws CannotDo, WrongUsage as the task says. */
export async function runTask<Name extends TaskName>(
  name: Name,
  request: TaskRequests[Name],
  terminal: Terminal,
): Promise<TaskAnswers[Name]> {
  const worker = new Worker(ENTRY);
  const broken = new Promise<never>((_, reject) => {
    worker.once('error', reject);
  });
  const server = wrap<TaskServer>(endpointOf(worker)) as Remote<TaskServer>;
  const progress = terminal.control.onProgress ? proxy(terminal.control.onProgress) : null;
  const warn = proxy((problem: Problem) => terminal.warn(problem));
  try {
    const answer = server.run(name, request, warn, progress) as Promise<TaskAnswers[Name]>;
    return await Promise.race([answer, broken]);
  } catch (error) {
    throw revived(error);
  } finally {
    terminal.settle();
    await worker.terminate();
  }
}
