/** Stop requests within one thread: a signal that may also be listened to, so that a worker can be ended at once. */
import { Cancelled, type StopSignal } from '../kit/control.ts';

/** A platform's AbortSignal fits too. */
export interface AudibleStop extends StopSignal {
  addEventListener(type: 'abort', listener: () => void): void;
  removeEventListener(type: 'abort', listener: () => void): void;
}

export interface StopSource {
  readonly signal: AudibleStop;
  stop(): void;
}

export function createStopSource(): StopSource {
  const listeners = new Set<() => void>();
  let aborted = false;
  return {
    signal: {
      get aborted() {
        return aborted;
      },
      addEventListener: (_type, listener) => void listeners.add(listener),
      removeEventListener: (_type, listener) => void listeners.delete(listener),
    },
    stop() {
      if (aborted) return;
      aborted = true;
      for (const listener of listeners) listener();
    },
  };
}

export const isAudible = (signal: StopSignal | undefined): signal is AudibleStop =>
  signal !== undefined && 'addEventListener' in signal;

/** Calls `react` once when the signal stops, or at once where it has; the function returned ends the listening. */
export function onStop(signal: StopSignal | undefined, react: () => void): () => void {
  if (signal?.aborted) react();
  if (!isAudible(signal)) return () => undefined;
  signal.addEventListener('abort', react);
  return () => signal.removeEventListener('abort', react);
}

/** Errors lose their class on the way between threads, not their name. */
export const isCancelled = (error: unknown): boolean =>
  error instanceof Cancelled || (error instanceof Error && error.name === 'Cancelled');
