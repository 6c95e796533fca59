/** Asks the worker that makes what can send; what is shown follows the question, and saving asks for itself. */
import { useEffect, useState } from 'react';
import type { SendingMessage, SendingQuestion, ToConfirm } from './sending-worker.ts';

interface Waiting {
  resolve(made: ToConfirm): void;
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
  const made = new Worker(new URL('./sending-worker.ts', import.meta.url), { type: 'module', name: 'sending' });
  made.addEventListener('message', ({ data }: MessageEvent<SendingMessage>) =>
    settle(data.number, (one) => ('made' in data ? one.resolve(data.made) : one.reject(new Error(data.problem)))),
  );
  made.addEventListener('error', ({ message }) => {
    worker = null;
    for (const number of [...waiting.keys()])
      settle(number, (one) => one.reject(new Error(message || 'the worker that makes the files failed')));
  });
  return made;
}

/** Rejects with why nothing can be sent. */
export function makeSending(question: SendingQuestion): Promise<ToConfirm> {
  worker ??= started();
  const number = ++asked;
  const made = new Promise<ToConfirm>((resolve, reject) => waiting.set(number, { resolve, reject }));
  worker.postMessage({ number, question });
  return made;
}

export interface Made {
  readonly made: ToConfirm | null;
  readonly problem: string | null;
}

/** Said where what was typed is not the newest question's phrase. */
export const CHANGED = 'what goes out has changed meanwhile. Read the cautions anew and type their phrase.';

const NOTHING: Made = { made: null, problem: null };

/**
 * Keep `question` stable (useMemo). While the newest is being made, what was made before keeps its place, so that a phrase half typed is not
 * lost when evidence comes in; it saves nothing of its own, as `makeSending` holds what was typed against the newest question's phrase.
 */
export function useToConfirm(question: SendingQuestion | null): Made {
  const [told, setTold] = useState<{ readonly of: SendingQuestion | null } & Made>({ of: null, ...NOTHING });
  useEffect(() => {
    if (!question) return;
    let isNewest = true;
    makeSending(question).then(
      (made) => isNewest && setTold({ of: question, made, problem: null }),
      (error: Error) => isNewest && setTold({ of: question, made: null, problem: error.message }),
    );
    return () => {
      isNewest = false;
    };
  }, [question]);
  return question !== null && told.of !== null ? told : NOTHING;
}
