/**
 * The worked example of Benjamini and Hochberg 1995, "Controlling the false discovery rate: a practical and powerful approach
 * to multiple testing", J. R. Statist. Soc. B 57, section on 15 hypotheses. The p-values are from memory of the
 * paper; the arithmetic is checked here independently of the code under test.
 */
import { describe, expect, it } from 'vitest';
import { benjaminiHochberg, permutationP, permutationsNeeded } from '../../src/kit/statistics/false-discovery.ts';

const P = [
  0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.324, 0.4262, 0.5719, 0.6528, 0.759, 1,
];
const RATE = 0.05;

/** The paper's own rule: the largest k with p(k) <= k q / m. */
const rejectedByRule = Math.max(...P.map((p, i) => (p <= ((i + 1) / P.length) * RATE ? i + 1 : 0)));

describe('Benjamini and Hochberg 1995', () => {
  it('rejects four of the fifteen at 0.05, where Bonferroni rejects three', () => {
    const q = benjaminiHochberg(P);
    expect([...q].filter((value) => value <= RATE)).toHaveLength(4);
    expect(rejectedByRule).toBe(4);
    expect(P.filter((p) => p <= RATE / P.length)).toHaveLength(3);
  });

  it('gives q-values that are the least rate at which each would be rejected', () => {
    const q = benjaminiHochberg(P);
    P.forEach((_, i) => {
      const least = Math.min(1, ...P.slice(i).map((p, j) => (p * P.length) / (i + j + 1)));
      expect(q[i]).toBeCloseTo(least, 12);
    });
  });

  it('does not depend on the order of the tests', () => {
    const reversed = benjaminiHochberg(P.toReversed());
    expect([...reversed].reverse()).toEqual([...benjaminiHochberg(P)]);
  });
});

describe('permutation p-values (Phipson and Smyth 2010)', () => {
  it('counts the observed one among the permutations', () => {
    expect(permutationP(0, 999)).toBe(0.001);
    expect(permutationP(999, 999)).toBe(1);
  });

  it('needs m / q - 1 permutations to reject one of m alone', () => {
    expect(permutationsNeeded(1000, 0.05)).toBe(19999);
  });
});
