/**
 * What the trials so far tell of each frame: required, not required or untested, with the figures. At any moment: the search need not have ended.
 * A frame is not required where a set without it works; it is required where sets without it fail that hold all else that is needed.
 */
import { holdsAll, sameSet, type Answer } from './answers.ts';
import { neededOdds, without } from './confirm-needed.ts';
import type { BenchState } from './next-step.ts';
import type { BenchRecord } from './record-schema.ts';
import { errorRateOf } from './search.ts';

export interface FrameConclusion {
  readonly key: string;
  readonly verdict: 'required' | 'not-required' | 'untested';
  /** In the set found, though another frame may take its place. */
  readonly replaceable: boolean;
  /** Trials that speak: with the frame sent and without it, and how many of them worked. */
  readonly withIt: { readonly n: number; readonly works: number };
  readonly withoutIt: { readonly n: number; readonly works: number };
  /** Numbers of the trials that the verdict stands on. */
  readonly trials: readonly number[];
  /** 0..1, that the frame is needed in the smallest set that works. */
  readonly probability: number | null;
}

/** A set counts as working where it worked so often more than it failed. */
const WORKS_BY = 2;
const REQUIRED_FROM = 0.99;

const tally = (answers: readonly Answer[]): { n: number; works: number } => ({
  n: answers.length,
  works: answers.filter(({ works }) => works).length,
});

/** The smallest set that works by enough trials; null where none does yet. */
function smallestWorking(answers: readonly Answer[]): ReadonlySet<string> | null {
  const works = answers.filter(({ sent }) => {
    const { n, works: working } = tally(answers.filter((other) => sameSet(other.sent, sent)));
    return 2 * working - n >= WORKS_BY;
  });
  const [smallest] = works.toSorted((a, b) => a.sent.size - b.sent.size);
  return smallest?.sent ?? null;
}

export function conclude(record: BenchRecord, state: BenchState): FrameConclusion[] {
  const { answers } = state.counting;
  const { step } = state;
  // Within a set that works, where everything does not: what is left out of it disturbs or was never tried with it.
  const candidates = record.candidates.filter(({ key }) => !state.setOut.includes(key));
  const all = new Set(candidates.map(({ key }) => key));
  const set = step.kind === 'found' ? new Set(step.needed) : smallestWorking(answers);
  const asSearch = step.kind === 'found' ? step : ({ kind: 'nothing-works', tried: 0 } as const);
  const errorRate = errorRateOf({ candidates, answers, longWatchS: 0 }, asSearch);
  return record.candidates.map(({ key }) => {
    const has = answers.filter(({ sent }) => sent.has(key));
    const lacks = answers.filter(({ sent }) => !sent.has(key));
    const counts = { key, withIt: tally(has), withoutIt: tally(lacks) };
    const open = { ...counts, verdict: 'untested', replaceable: false, trials: [], probability: null } as const;
    if (set === null) return open;
    if (!set.has(key)) {
      const trials = answers.filter(({ sent, works }) => works && sameSet(sent, set)).map(({ trial }) => trial);
      return { ...open, verdict: 'not-required', trials, probability: 0 };
    }
    const odds = neededOdds({ key, set, all, answers, errorRate });
    const others = without(set, key);
    const speaking = lacks.filter(({ sent }) => holdsAll(sent, others));
    const probability = odds.always + odds.replaceable;
    const isRequired = speaking.length > 0 && probability >= REQUIRED_FROM;
    return {
      ...counts,
      verdict: isRequired ? 'required' : 'untested',
      replaceable: isRequired && odds.replaceable > odds.always,
      trials: speaking.map(({ trial }) => trial),
      probability,
    };
  });
}
