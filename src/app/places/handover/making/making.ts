/** Asks the worker that makes files. Previews ask for the newest only; saving asks for itself. */
import { createLatest } from '../../../engine/latest.ts';
import type { Handover } from '../../../../handover/handover-files.ts';
import type { MakingMessage, MakingQuestion } from './make-worker.ts';

interface Waiting {
  resolve(handover: Handover): void;
  reject(error: Error): void;
}

const waiting = new Map<number, Waiting>();
let asked = 0;
let worker: Worker | null = null;

function settle(number: number, end: (one: Waiting) => void): void {
  const one = waiting.get(number);
  waiting.delete(number);
  if (one) end(one);
}

function started(): Worker {
  const made = new Worker(new URL('./make-worker.ts', import.meta.url), { type: 'module', name: 'handover' });
  made.addEventListener('message', ({ data }: MessageEvent<MakingMessage>) =>
    settle(data.number, (one) =>
      'handover' in data ? one.resolve(data.handover) : one.reject(new Error(data.problem)),
    ),
  );
  made.addEventListener('error', ({ message }) => {
    worker = null;
    for (const number of [...waiting.keys()])
      settle(number, (one) => one.reject(new Error(message || 'the worker that makes the files failed')));
  });
  return made;
}

/** Rejects with what went wrong. */
export function makeHandover(question: MakingQuestion): Promise<Handover> {
  worker ??= started();
  const number = ++asked;
  const made = new Promise<Handover>((resolve, reject) => waiting.set(number, { resolve, reject }));
  worker.postMessage({ number, question });
  return made;
}

/** null where a newer one was asked for meanwhile. */
export const previews = createLatest(makeHandover);
