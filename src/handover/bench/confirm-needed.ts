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
/** Some set works without it. */
const RULED_OUT = 0.05;
const IN_SET_FROM = 0.999;

export type NeededEnd =
  | { readonly kind: 'ask'; readonly sent: ReadonlySet<string>; readonly aim: 'needed' | 'replaceable' }
  | { readonly kind: 'needed'; readonly replaceable: boolean }
  | { readonly kind: 'not-needed' };

/** Whether it is needed in the set where another frame may take its place, from answers of the very set without it. */
function notNeededInSet({ key, set, answers, errorRate }: NeededInput): number {
  const others = without(set, key);
  const logs = [Math.log(PRIOR.replaceable), Math.log(PRIOR.notNeeded)];
  for (const { works } of answers.filter((answer) => sameSet(answer.sent, others)))
    [false, true].forEach((predicted, i) => (logs[i]! += logLikelihood(predicted, works, errorRate)));
  return normalised(logs)[1] as number;
}

export function confirmNeeded(input: NeededInput): NeededEnd {
  const odds = neededOdds(input);
  const fromAll = without(input.all, input.key);
  const fromSet = without(input.set, input.key);
  const isWhole = sameSet(fromAll, fromSet);
  if (!isWhole && odds.always < RULED_OUT) {
    const not = notNeededInSet(input);
    if (not >= REFUTED_FROM) return { kind: 'not-needed' };
    if (1 - not >= IN_SET_FROM) return { kind: 'needed', replaceable: true };
    return { kind: 'ask', sent: fromSet, aim: 'replaceable' };
  }
  if (odds.notNeeded >= REFUTED_FROM) return { kind: 'not-needed' };
  const isTold = isWhole || odds.always >= TOLD_FROM;
  if (1 - odds.notNeeded >= SETTLED_FROM && isTold) return { kind: 'needed', replaceable: false };
  return { kind: 'ask', sent: fromAll, aim: 'needed' };
}
