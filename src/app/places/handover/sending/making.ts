/** Asks the worker that makes what can send; what is shown follows the question, and saving asks for itself. */
import { useEffect, useState } from 'react';
import { createAsker } from '../../../engine/asked-worker.ts';
import type { SendingQuestion, ToConfirm } from './sending-worker.ts';

/** Rejects with why nothing can be sent. */
export const makeSending = createAsker<SendingQuestion, ToConfirm>(
  () => new Worker(new URL('./sending-worker.ts', import.meta.url), { type: 'module', name: 'sending' }),
);

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
