/**
 * One round of the search: with the frames known to be needed, which is the last further one, in the order of the candidates, that the module
 * needs? With all candidates up to that one it works, with all before it it does not; so sending the first m of them asks on which side of m it lies, and
 * halving finds it in about log2(n) trials. As in delta debugging (Zeller and Hildebrandt 2002, from memory) the aim is a set from which no frame
 * can be left out; a halved prefix instead of their subsets and complements bounds the number of trials by needed frames x log2(candidates), where
 * theirs may take the square of the candidates.
 *
 * An answer may be wrong, so no half is ever thrown away: the place has a probability that every answer moves (probabilistic bisection, Horstein 1963,
 * from memory), and the round ends when one place has nearly all of it.
 */
import { holdsAll, logLikelihood, normalised, type Answer, type Candidate, type Predicted } from './answers.ts';

export interface RoundInput {
  readonly known: ReadonlySet<string>;
  /** Candidates not known to be needed, in order. */
  readonly rest: readonly Candidate[];
  /** Whether frames that are neither known nor in `rest` may be needed too: an earlier round may have erred. */
  readonly mayLackOthers: boolean;
  readonly answers: readonly Answer[];
  readonly errorRate: number;
}

export type RoundEnd =
  /** Send the known ones and the first `first` of the rest. */
  | { readonly kind: 'ask'; readonly first: number }
  /** Index in `rest` of a frame that is needed. */
  | { readonly kind: 'found'; readonly index: number }
  /** The known ones suffice. */
  | { readonly kind: 'enough' }
  /** Not even all of the rest suffices. */
  | { readonly kind: 'lacks-others' };

/** One place has so much of the probability: what is found is tried by itself afterwards, so that a slip here costs trials and no more. */
const FOUND_FROM = 0.93;
/** That the known ones suffice is what the person takes home. */
const ENOUGH_FROM = 0.9993;
const LACKS_FROM = 0.93;
/** That an earlier round erred. */
const LACKS_PRIOR = 0.04;
/** How far from the half a cut may be moved to fall between two senders. */
const SENDER_CUT = 0.12;

/** [n + 1] log prior that the last needed one is the i-th (from 1), none: 0. */
function placePriors(rest: readonly Candidate[]): number[] {
  const priors = new Array<number>(rest.length + 1);
  let noneBehind = 0;
  for (let i = rest.length; i > 0; i--) {
    const { likelihood } = rest[i - 1] as Candidate;
    priors[i] = noneBehind + Math.log(likelihood);
    noneBehind += Math.log(1 - likelihood);
  }
  priors[0] = noneBehind;
  return priors;
}

interface Bounds {
  /** All of the first so many are in the set. */
  readonly holds: number;
  /** None behind the first so many is. */
  readonly within: number;
}

function boundsOf(sent: ReadonlySet<string>, rest: readonly Candidate[]): Bounds {
  const firstMissing = rest.findIndex(({ key }) => !sent.has(key));
  return {
    holds: firstMissing < 0 ? rest.length : firstMissing,
    within: rest.findLastIndex(({ key }) => sent.has(key)) + 1,
  };
}

function predict(place: number, { holds, within }: Bounds): Predicted {
  if (place <= holds) return true;
  return place > within ? false : null;
}

/** Of the places 0..n and, last, that others are lacking. */
function posterior({ known, rest, mayLackOthers, answers, errorRate }: RoundInput): number[] {
  const logs = placePriors(rest);
  const lacking = rest.length + 1;
  logs[lacking] = mayLackOthers ? Math.log(LACKS_PRIOR) : -Infinity;
  const mine = new Set([...known, ...rest.map(({ key }) => key)]);
  for (const { sent, works } of answers) {
    if (!holdsAll(sent, known) || !holdsAll(mine, sent)) continue;
    const bounds = boundsOf(sent, rest);
    for (let place = 0; place < lacking; place++)
      logs[place]! += logLikelihood(predict(place, bounds), works, errorRate);
    logs[lacking]! += logLikelihood(false, works, errorRate);
  }
  return normalised(logs);
}

/** The cut whose lower side has nearest to half of the probability; between two senders where one is about as good. */
function cutOf(weights: readonly number[], rest: readonly Candidate[], mayLackOthers: boolean): number {
  const last = rest.length - (mayLackOthers ? 0 : 1);
  let below = 0;
  let [best, bestOff] = [0, Infinity];
  let [between, betweenOff] = [0, Infinity];
  for (let cut = 0; cut <= last; cut++) {
    below += weights[cut] as number;
    const off = Math.abs(below - 0.5);
    if (off < bestOff) [best, bestOff] = [cut, off];
    const parts = cut === 0 || cut === rest.length || rest[cut - 1]?.group !== rest[cut]?.group;
    if (parts && off < betweenOff) [between, betweenOff] = [cut, off];
  }
  return betweenOff < bestOff + SENDER_CUT && betweenOff < 0.5 - SENDER_CUT ? between : best;
}

export function runRound(input: RoundInput): RoundEnd {
  const { rest, mayLackOthers } = input;
  const weights = posterior(input);
  const [none, lacking] = [weights[0] as number, weights[rest.length + 1] as number];
  if (none >= ENOUGH_FROM) return { kind: 'enough' };
  if (lacking >= LACKS_FROM) return { kind: 'lacks-others' };
  const places = weights.slice(1, rest.length + 1);
  const most = Math.max(...places);
  if (most >= FOUND_FROM) return { kind: 'found', index: places.indexOf(most) };
  if (none > 0.5 || rest.length === 0) return { kind: 'ask', first: 0 };
  return { kind: 'ask', first: cutOf(weights, rest, mayLackOthers) };
}
