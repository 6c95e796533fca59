/** Logistic regression with a ridge, by iteratively reweighted least squares (McCullagh and Nelder, Generalized Linear Models, 1989, section 2.5). */
import { logistic } from '../../src/kit/statistics/distributions.ts';

/** Solves a symmetric positive definite system by Gaussian elimination with pivoting. a: [n][n]; b: [n]. @throws where it is singular. */
function solve(a: readonly Float64Array[], b: Float64Array): Float64Array {
  const n = b.length;
  const rows: Float64Array[] = a.map((row, at) => Float64Array.from([...row, b[at] as number]));
  for (let at = 0; at < n; at++) {
    let pivot = at;
    for (let row = at + 1; row < n; row++) if (Math.abs(rows[row]![at]!) > Math.abs(rows[pivot]![at]!)) pivot = row;
    [rows[at], rows[pivot]] = [rows[pivot] as Float64Array, rows[at] as Float64Array];
    const top = rows[at] as Float64Array;
    if (top[at] === 0) throw new Error('the terms depend on each other');
    for (let row = at + 1; row < n; row++) {
      const share = rows[row]![at]! / top[at]!;
      for (let column = at; column <= n; column++) rows[row]![column]! -= share * top[column]!;
    }
  }
  const found = new Float64Array(n);
  for (let at = n - 1; at >= 0; at--) {
    let rest = rows[at]![n]!;
    for (let column = at + 1; column < n; column++) rest -= rows[at]![column]! * found[column]!;
    found[at] = rest / rows[at]![at]!;
  }
  return found;
}

export interface Case {
  /** [terms] */
  readonly terms: readonly number[];
  readonly right: boolean;
  readonly weight: number;
}

/** By how much each weight is drawn to its prior, on terms of equal spread. */
export interface Ridge {
  readonly ridge: number;
  /** [terms] */
  readonly prior: readonly number[];
}

const STEPS = 25;
/** The constant is hardly drawn at all, so that the fit stays defined where all are right. */
const CONSTANT_RIDGE = 1e-3;

export const shareOf = (weights: readonly number[], terms: readonly number[]): number => {
  const odds = terms.reduce((sum, term, at) => sum + term * (weights[at + 1] as number), weights[0] as number);
  return logistic(odds);
};

/** @returns [1 + terms] the constant, then a weight a term */
export function fitLogistic(cases: readonly Case[], { ridge, prior }: Ridge): number[] {
  const count = prior.length;
  const spread = prior.map((_, term) => {
    const values = cases.map(({ terms }) => terms[term] as number);
    const middle = values.reduce((sum, value) => sum + value, 0) / values.length;
    return Math.sqrt(values.reduce((sum, value) => sum + (value - middle) ** 2, 0) / values.length) || 1;
  });
  const rows = cases.map(({ terms }) => [1, ...terms.map((value, term) => value / (spread[term] as number))]);
  const drawnTo = [0, ...prior.map((weight, term) => weight * (spread[term] as number))];
  const pull = [CONSTANT_RIDGE, ...prior.map(() => ridge)];
  let weights = [...drawnTo];
  for (let step = 0; step < STEPS; step++) {
    const hessian = pull.map((own, at) => Float64Array.from({ length: count + 1 }, (_, to) => (at === to ? own : 0)));
    const gradient = Float64Array.from(weights, (weight, at) => -pull[at]! * (weight - drawnTo[at]!));
    rows.forEach((row, index) => {
      const { right, weight } = cases[index] as Case;
      const share = shareOf(weights, row.slice(1));
      const slope = weight * share * (1 - share);
      row.forEach((value, at) => {
        gradient[at]! += weight * (Number(right) - share) * value;
        row.forEach((other, to) => (hessian[at]![to]! += slope * value * other));
      });
    });
    const change = solve(hessian, gradient);
    weights = weights.map((weight, at) => weight + change[at]!);
  }
  return weights.map((weight, at) => (at === 0 ? weight : weight / (spread[at - 1] as number)));
}
