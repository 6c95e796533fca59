/**
 * Which signals a bench has proven for sending. That a frame with a signal in it was accepted proves nothing of the signal: it has to have been sent
 * with different values, seen on the bus as such, the part operational each time, and a number of the part has to have followed, apart beyond its spread
 * and the same again when a value was repeated.
 */
import type { JudgedTrial } from './verdicts.ts';

export interface ProvenSignal {
  readonly frame: string;
  readonly signal: string;
  /** What followed. */
  readonly by: { readonly frame: string; readonly signal: string };
  readonly trials: readonly number[];
  readonly values: readonly { readonly sent: number; readonly followed: number }[];
}

const LEAST_VALUES = 2;
const LEAST_TRIALS = 3;

interface Varied {
  readonly trial: number;
  readonly sent: number;
  readonly low: number;
  readonly high: number;
  readonly middle: number;
}

const apart = (a: Varied, b: Varied): boolean => a.high < b.low || b.high < a.low;

function isFollowed(varied: readonly Varied[]): boolean {
  const values = new Set(varied.map(({ sent }) => sent));
  if (values.size < LEAST_VALUES || varied.length < LEAST_TRIALS || values.size === varied.length) return false;
  return varied.every((a) => varied.every((b) => a === b || (a.sent === b.sent ? !apart(a, b) : apart(a, b))));
}

/** One signal is varied at a time: a trial that varies several tells of none. */
export function provenSignals(judged: readonly JudgedTrial[]): ProvenSignal[] {
  const groups = new Map<string, { signal: Omit<ProvenSignal, 'trials' | 'values'>; varied: Varied[] }>();
  for (const { trial, verdict } of judged) {
    const followed = trial.observed?.followed;
    const [only, ...others] = trial.values;
    if (trial.kind !== 'vary' || verdict !== 'operational' || trial.setAside || !followed || !only || others.length > 0)
      continue;
    const signal = { frame: only.frame, signal: only.signal, by: { frame: followed.frame, signal: followed.signal } };
    const name = JSON.stringify(signal);
    const group = groups.get(name) ?? { signal, varied: [] };
    const { low, high, middle } = followed;
    group.varied.push({ trial: trial.number, sent: only.value, low, high, middle });
    groups.set(name, group);
  }
  return [...groups.values()]
    .filter(({ varied }) => isFollowed(varied))
    .map(({ signal, varied }) => ({
      ...signal,
      trials: varied.map(({ trial }) => trial),
      values: varied.map(({ sent, middle }) => ({ sent, followed: middle })),
    }));
}
