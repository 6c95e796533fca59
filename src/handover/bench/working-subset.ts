/**
 * Where everything together does not work though the wiring is in order: a set that does. Some frames are needed and some disturb, so only a set that
 * holds all of the one and none of the other answers "works"; each trial sends the set that is likeliest to, by all answers so far.
 *
 * Likelihoods are counted over hypotheses drawn once, always the same ones: which frames are needed, by their likelihoods, and one to three that disturb,
 * any of the others. An answer may be wrong, so none rules a hypothesis out, and a set is believed only when it worked three times more than it failed.
 */
import { sameSet, senderOf, type Answer, type Candidate } from './answers.ts';
import { drawOnce, type Drawn } from './hypotheses.ts';

export type SubsetStep =
  /** A set that worked often enough to go on with it. */
  | { readonly kind: 'works'; readonly set: ReadonlySet<string> }
  | { readonly kind: 'ask'; readonly sent: ReadonlySet<string> };

const ERROR_RATE = 0.06;
/** A set is believed when it worked so often more than it failed. */
const WORKS_BY = 3;
/** A cut along senders is taken where it is nearly as good: a person can follow it. */
const SENDER_CUT = 0.8;

const worksBy = (answers: readonly Answer[], set: ReadonlySet<string>): number =>
  answers.filter(({ sent }) => sameSet(sent, set)).reduce((sum, { works }) => sum + (works ? 1 : -1), 0);

/** [hypotheses], unnormalised. */
function weightsOf({ needed, disturbing }: Drawn, candidates: readonly Candidate[], answers: readonly Answer[]) {
  const weights = new Float64Array(needed.length).fill(1);
  const [likely, unlikely] = [1 - ERROR_RATE, ERROR_RATE];
  for (const { sent, works } of answers) {
    const has = candidates.map(({ key }) => sent.has(key));
    for (let h = 0; h < weights.length; h++) {
      const would = needed[h]!.every((i) => has[i]) && !disturbing[h]!.some((i) => has[i]);
      weights[h]! *= would === works ? likely : unlikely;
    }
  }
  return weights;
}

/** A set under way, with the weight of the hypotheses under which it works. */
class Trying {
  readonly has: boolean[];
  private readonly bad: Int16Array;
  private readonly weights: Float64Array;
  private readonly neededIn: readonly (readonly number[])[];
  private readonly disturbingIn: readonly (readonly number[])[];

  constructor({ neededIn, disturbingIn }: Drawn, weights: Float64Array, has: readonly boolean[]) {
    this.has = [...has];
    this.weights = weights;
    this.neededIn = neededIn;
    this.disturbingIn = disturbingIn;
    this.bad = new Int16Array(weights.length);
    has.forEach((isIn, i) => this.count(isIn ? this.disturbingIn[i]! : this.neededIn[i]!, 1));
  }

  private count(list: readonly number[], by: number): void {
    for (const h of list) this.bad[h]! += by;
  }

  private weightWhere(list: readonly number[], bad: number): number {
    return list.reduce((sum, h) => sum + (this.bad[h] === bad ? (this.weights[h] as number) : 0), 0);
  }

  score(): number {
    return this.weights.reduce((sum, weight, h) => sum + (this.bad[h] === 0 ? weight : 0), 0);
  }

  /** Of taking it out or putting it in. */
  gain(i: number): number {
    const [spoils, mends] = this.has[i]
      ? [this.neededIn[i]!, this.disturbingIn[i]!]
      : [this.disturbingIn[i]!, this.neededIn[i]!];
    return this.weightWhere(mends, 1) - this.weightWhere(spoils, 0);
  }

  toggle(i: number): void {
    this.count(this.has[i] ? this.disturbingIn[i]! : this.neededIn[i]!, -1);
    this.has[i] = !this.has[i];
    this.count(this.has[i] ? this.disturbingIn[i]! : this.neededIn[i]!, 1);
  }

  /** One frame after the other, while it becomes likelier. */
  climb(): void {
    for (let turn = 0; turn < 4 * this.has.length; turn++) {
      const gains = this.has.map((_, i) => this.gain(i));
      const most = Math.max(...gains);
      if (most <= 1e-12) return;
      this.toggle(gains.indexOf(most));
    }
  }
}

/** Everything but one sender, and everything. */
function starts(candidates: readonly Candidate[]): boolean[][] {
  const senders = candidates.map(senderOf);
  const withoutOne = [...new Set(senders)].map((one) => senders.map((sender) => sender !== one));
  return [...withoutOne, candidates.map(() => true)];
}

function likeliest(candidates: readonly Candidate[], answers: readonly Answer[]): ReadonlySet<string> {
  const hypotheses = drawOnce(candidates);
  const weights = weightsOf(hypotheses, candidates, answers);
  let best = { score: -1, has: [] as readonly boolean[] };
  let cut = best;
  for (const has of starts(candidates)) {
    const trying = new Trying(hypotheses, weights, has);
    const plain = trying.score();
    if (plain > cut.score) cut = { score: plain, has };
    trying.climb();
    const score = trying.score();
    if (score > best.score) best = { score, has: trying.has };
  }
  const chosen = cut.score >= SENDER_CUT * best.score ? cut : best;
  return new Set(candidates.filter((_, i) => chosen.has[i]).map(({ key }) => key));
}

/** Sets tried so far other than everything, each once. */
function triedSets(candidates: readonly Candidate[], answers: readonly Answer[]): ReadonlySet<string>[] {
  const sets: ReadonlySet<string>[] = [];
  for (const { sent } of answers)
    if (sent.size < candidates.length && !sets.some((set) => sameSet(set, sent))) sets.push(sent);
  return sets;
}

/** The largest set that is believed; of equals the first. @param answers of all sets, everything included */
function believedSet(candidates: readonly Candidate[], answers: readonly Answer[]): ReadonlySet<string> | null {
  const believed = triedSets(candidates, answers).filter((set) => worksBy(answers, set) >= WORKS_BY);
  return believed.toSorted((a, b) => b.size - a.size)[0] ?? null;
}

/** Cost: O(hypotheses x (answers + candidates x senders)). */
export function workingSubset(candidates: readonly Candidate[], answers: readonly Answer[]): SubsetStep {
  const set = believedSet(candidates, answers);
  if (set) return { kind: 'works', set };
  const sets = triedSets(candidates, answers).toSorted((a, b) => worksBy(answers, b) - worksBy(answers, a));
  const again = sets.find((each) => worksBy(answers, each) > 0);
  if (again) return { kind: 'ask', sent: again };
  return { kind: 'ask', sent: likeliest(candidates, answers) };
}
