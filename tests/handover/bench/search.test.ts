import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Answer, Candidate } from '../../../src/handover/bench/answers.ts';
import { trialBounds } from '../../../src/handover/bench/bounds.ts';
import { nextInSearch, type SearchStep } from '../../../src/handover/bench/search.ts';

const LONG = 30;
const candidatesOf = (count: number, likelihood = 0.1): Candidate[] =>
  Array.from({ length: count }, (_, i) => ({ key: `f${i}`, group: `g${Math.floor(i / 4)}`, likelihood }));

type Works = (sent: ReadonlySet<string>) => boolean;

/** Every answer right: what the search ends with, and after how many trials. */
function searched(candidates: readonly Candidate[], works: Works): { step: SearchStep; trials: number } {
  const answers: Answer[] = [];
  for (let n = 1; n < 400; n++) {
    const step = nextInSearch({ candidates, answers, longWatchS: LONG });
    if (step.kind !== 'ask') return { step, trials: answers.length };
    answers.push({ trial: n, sent: step.sent, works: works(step.sent), watchedS: step.aim === 'enough' ? LONG : 10 });
  }
  throw new Error('the search does not end');
}

const needs =
  (clauses: readonly (readonly string[])[]): Works =>
  (sent) =>
    clauses.every((anyOf) => anyOf.some((key) => sent.has(key)));

describe('the search for a minimal set', () => {
  it('finds what is needed jointly, of any number, within the bound', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 40 }), fc.array(fc.nat(39), { maxLength: 6 }), (count, places) => {
        const candidates = candidatesOf(count);
        const needed = [...new Set(places.filter((place) => place < count))].map((place) => `f${place}`);
        const { step, trials } = searched(candidates, needs(needed.map((key) => [key])));
        expect(step.kind === 'found' && [...step.needed].sort()).toEqual(needed.sort());
        expect(trials).toBeLessThanOrEqual(trialBounds(candidates).mostTrials);
      }),
      { numRuns: 60, seed: 7 },
    );
  });

  it('with alternatives ends with one of the minimal sets, and says that another frame would do', () => {
    const works = needs([['f3', 'f17'], ['f8']]);
    const { step } = searched(candidatesOf(20), works);
    if (step.kind !== 'found') throw new Error(step.kind);
    expect(works(new Set(step.needed))).toBe(true);
    expect(step.needed).toHaveLength(2);
    expect(step.replaceable).toHaveLength(1);
    expect(['f3', 'f17']).toContain(step.replaceable[0]);
  });

  it('asks no more once everything failed four times', () => {
    const { step, trials } = searched(candidatesOf(20), () => false);
    expect({ kind: step.kind, trials }).toEqual({ kind: 'nothing-works', trials: 4 });
  });

  it('takes fewer trials where the plan knows who is needed', () => {
    const works = needs([['f30'], ['f31']]);
    const knowing = candidatesOf(40, 0.02).map((each) =>
      each.key === 'f30' || each.key === 'f31' ? { ...each, likelihood: 0.9 } : each,
    );
    expect(searched(knowing, works).trials).toBeLessThan(searched(candidatesOf(40), works).trials);
  });

  it.each([2, 3, 4, 5, 6, 7, 8, 9])('puts right what one wrong answer, to trial %i, made it believe', (lie) => {
    const candidates = candidatesOf(16);
    const works = needs([['f5'], ['f11']]);
    const answers: Answer[] = [];
    for (let n = 1; n < 300; n++) {
      const step = nextInSearch({ candidates, answers, longWatchS: LONG });
      if (step.kind !== 'ask') {
        expect(step.kind === 'found' && [...step.needed].sort()).toEqual(['f11', 'f5']);
        return;
      }
      const answer = works(step.sent) !== (n === lie);
      answers.push({ trial: n, sent: step.sent, works: answer, watchedS: step.aim === 'enough' ? LONG : 10 });
    }
    throw new Error('the search does not end');
  });

  it('asks the set found for a long watch before it is content', () => {
    const candidates = candidatesOf(6);
    const aims: string[] = [];
    const answers: Answer[] = [];
    for (let n = 1; n < 100; n++) {
      const step = nextInSearch({ candidates, answers, longWatchS: LONG });
      if (step.kind !== 'ask') break;
      aims.push(step.aim);
      answers.push({
        trial: n,
        sent: step.sent,
        works: step.sent.has('f2'),
        watchedS: step.aim === 'enough' ? LONG : 10,
      });
    }
    expect(aims[0]).toBe('everything');
    expect(aims[1]).toBe('nothing');
    expect(aims.at(-1)).toBe('enough');
  });
});
