/**
 * Whether each frame of a set that suffices is needed in it, tried by leaving that one out: of everything (then no set works without it), and of the
 * set itself where another frame may take its place.
 */
import { holdsAll, logLikelihood, normalised, sameSet, type Answer } from './answers.ts';

export interface NeededInput {
  readonly key: string;
  /** A set that suffices. */
  readonly set: ReadonlySet<string>;
  readonly all: ReadonlySet<string>;
  readonly answers: readonly Answer[];
  readonly errorRate: number;
}

/** Probabilities that sum to 1. */
export interface Needed {
  /** In every set that works. */
  readonly always: number;
  /** In this set, though another frame may take its place. */
  readonly replaceable: number;
  readonly notNeeded: number;
}

/** What the search before has found of it. */
const PRIOR: Needed = { always: 0.82, replaceable: 0.1, notNeeded: 0.08 };

export const without = (set: ReadonlySet<string>, key: string): Set<string> =>
  new Set([...set].filter((each) => each !== key));

export function neededOdds({ key, set, all, answers, errorRate }: NeededInput): Needed {
  const others = without(set, key);
  const logs = [Math.log(PRIOR.always), Math.log(PRIOR.replaceable), Math.log(PRIOR.notNeeded)];
  for (const { sent, works } of answers) {
    if (sent.has(key) || !holdsAll(sent, others)) continue;
    const isSet = sent.size === others.size;
    const isAll = sameSet(sent, without(all, key));
    // Between the set and all of it nothing is known of where the other frame stands: what came is as good as foretold.
    const predictions = [false, isSet ? false : isAll ? true : works, true];
    predictions.forEach((predicted, i) => (logs[i]! += logLikelihood(predicted, works, errorRate)));
  }
  const [always, replaceable, notNeeded] = normalised(logs) as [number, number, number];
  return { always, replaceable, notNeeded };
}

const SETTLED_FROM = 0.99995;
const REFUTED_FROM = 0.97;
/** Whether another frame may take its place. */
const TOLD_FROM = 0.95;

export type NeededEnd =
  | { readonly kind: 'ask'; readonly sent: ReadonlySet<string>; readonly aim: 'needed' | 'replaceable' }
  | { readonly kind: 'needed'; readonly replaceable: boolean }
  | { readonly kind: 'not-needed' };

export function confirmNeeded(input: NeededInput): NeededEnd {
  const odds = neededOdds(input);
  if (odds.notNeeded >= REFUTED_FROM) return { kind: 'not-needed' };
  const fromAll = without(input.all, input.key);
  const fromSet = without(input.set, input.key);
  const isWhole = sameSet(fromAll, fromSet);
  const isNeeded = 1 - odds.notNeeded >= SETTLED_FROM;
  const isTold = isWhole || Math.max(odds.always, odds.replaceable) >= TOLD_FROM;
  if (isNeeded && isTold) return { kind: 'needed', replaceable: odds.replaceable > odds.always };
  const isOpen = (isNeeded || odds.always > 0.1) && !isWhole;
  return isOpen ? { kind: 'ask', sent: fromAll, aim: 'needed' } : { kind: 'ask', sent: fromSet, aim: 'replaceable' };
}
