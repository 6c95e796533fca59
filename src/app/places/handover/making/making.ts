/** Asks the worker that makes files. Previews ask for the newest only; saving asks for itself. */
import type { Handover, HandoverOptions } from '../../../../handover/handover-files.ts';
import type { Outcome } from '../../../../kit/outcome.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { createLatest } from '../../../engine/latest.ts';
import type { MakingAnswer, MakingMessage, MakingQuestion } from './make-worker.ts';

interface Waiting {
  resolve(answer: MakingAnswer): void;
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
    settle(data.number, (one) => ('problem' in data ? one.reject(new Error(data.problem)) : one.resolve(data))),
  );
  made.addEventListener('error', ({ message }) => {
    worker = null;
    for (const number of [...waiting.keys()])
      settle(number, (one) => one.reject(new Error(message || 'the worker that makes the files failed')));
  });
  return made;
}

function ask(question: MakingQuestion): Promise<MakingAnswer> {
  worker ??= started();
  const number = ++asked;
  const made = new Promise<MakingAnswer>((resolve, reject) => waiting.set(number, { resolve, reject }));
  worker.postMessage({ number, question });
  return made;
}

export interface OfMap {
  readonly map: SignalMap;
  readonly options: HandoverOptions;
}

/** Rejects with what went wrong. */
export async function makeHandover(question: OfMap): Promise<Handover> {
  const answer = await ask({ ...question, what: 'files' });
  if ('handover' in answer) return answer.handover;
  throw new Error('the worker answered another question');
}

/** The map's file, read back through the schema; rejects with what went wrong. */
export async function makeMapText(question: OfMap): Promise<Outcome<string>> {
  const answer = await ask({ ...question, what: 'map' });
  if ('text' in answer) return answer.text;
  throw new Error('the worker answered another question');
}

/** null where a newer one was asked for meanwhile. */
export const previews = createLatest(makeHandover);
