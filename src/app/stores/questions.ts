/**
 * Asking for pictures: the newest question wins. While one is being answered only the newest waits
 * behind it, so no work is queued that nobody looks at any more; the last answer stays on the sheet meanwhile.
 */
import { useEffect, useRef, useState } from 'react';
import { arrayBytes, questionName, useMeasures } from './measures.ts';

/** "?dev" in the address: measures are kept and shown. */
export const developing = new URLSearchParams(location.search).has('dev');

export interface Answer<T> {
  /** The last answer, also while a newer question is open; null before the first. */
  readonly value: T | null;
  /** A newer question is open: `value` is from before it. */
  readonly pending: boolean;
  readonly problem: string | null;
}

interface Desk<T> {
  /** The key being answered. */
  asked: string | null;
  waiting: { key: string; ask: () => Promise<T> } | null;
}

/**
 * `key` names the question completely (capture, revision, window, ...): a new key asks anew, the same key does not.
 * null: there is nothing to ask (yet).
 */
export function useQuestion<T>(key: string | null, ask: () => Promise<T>): Answer<T> {
  const [answer, setAnswer] = useState<{ key: string; value: T } | null>(null);
  const [problem, setProblem] = useState<{ key: string; words: string } | null>(null);
  const desk = useRef<Desk<T>>({ asked: null, waiting: null });
  const newest = useRef<string | null>(key);
  const asking = useRef(ask);
  useEffect(() => {
    asking.current = ask;
    newest.current = key;
  });
  useEffect(() => {
    if (key === null) return;
    const { current } = desk;
    current.waiting = { key, ask: asking.current };
    if (current.asked !== null) return;
    const serve = async (): Promise<void> => {
      while (current.waiting) {
        const { key: now, ask: question } = current.waiting;
        current.asked = now;
        current.waiting = null;
        try {
          const from = performance.now();
          const value = await question();
          if (developing)
            useMeasures
              .getState()
              .note({ name: questionName(now), tookMs: performance.now() - from, bytes: arrayBytes(value) });
          if (newest.current !== null) setAnswer({ key: now, value });
        } catch (error) {
          setProblem({ key: now, words: error instanceof Error ? error.message : String(error) });
        }
      }
      current.asked = null;
    };
    void serve();
  }, [key]);
  if (key === null) return { value: null, pending: false, problem: null };
  const current = answer?.key === key;
  return {
    value: answer?.value ?? null,
    pending: !current && problem?.key !== key,
    problem: problem?.key === key ? problem.words : null,
  };
}
