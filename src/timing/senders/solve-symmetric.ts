/** Linear equations with a symmetric positive definite matrix, by Cholesky's decomposition (Golub and Van Loan, "Matrix computations", section 4.2). */

/** Pivots below this share of the largest are taken as free of any equation: their unknown becomes 0. */
const PIVOT_LEAST = 1e-12;

/** @param matrix [n * n] is overwritten @param right [n] @returns [n]. O(n^3) */
export function solveSymmetric(matrix: Float64Array, right: Float64Array): Float64Array {
  const n = right.length;
  const solution = Float64Array.from(right);
  let largest = 0;
  for (let i = 0; i < n; i++) largest = Math.max(largest, matrix[i * n + i] as number);
  for (let j = 0; j < n; j++) {
    let pivot = matrix[j * n + j] as number;
    for (let k = 0; k < j; k++) pivot -= (matrix[j * n + k] as number) ** 2;
    const root = pivot > PIVOT_LEAST * largest ? Math.sqrt(pivot) : Infinity;
    matrix[j * n + j] = root;
    for (let i = j + 1; i < n; i++) {
      let sum = matrix[i * n + j] as number;
      for (let k = 0; k < j; k++) sum -= (matrix[i * n + k] as number) * (matrix[j * n + k] as number);
      matrix[i * n + j] = sum / root;
    }
  }
  for (let i = 0; i < n; i++) {
    let sum = solution[i] as number;
    for (let k = 0; k < i; k++) sum -= (matrix[i * n + k] as number) * (solution[k] as number);
    solution[i] = sum / (matrix[i * n + i] as number);
  }
  for (let i = n - 1; i >= 0; i--) {
    let sum = solution[i] as number;
    for (let k = i + 1; k < n; k++) sum -= (matrix[k * n + i] as number) * (solution[k] as number);
    solution[i] = sum / (matrix[i * n + i] as number);
  }
  return solution;
}
