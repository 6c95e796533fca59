/**
 * What may be claimed when many things are tested: Benjamini and Hochberg 1995 ("Controlling the false
 * discovery rate"), and p-values counted over permutations with the observed one among them
 * (Phipson and Smyth 2010, "Permutation p-values should never be zero").
 */

/** [n] q-values: the least false discovery rate at which each would be claimed. */
export function benjaminiHochberg(p: ArrayLike<number>): Float64Array {
  return stepUp(p, (rank) => rank, p.length);
}

/**
 * Step-up q-values with a rank that may grow slower than one a test: where several tests say the same
 * thing, they count as one discovery and yet all as tests, so that a cluster of duplicates cannot
 * carry itself over the threshold. `cluster[i]` names the cluster of test i. Never below Benjamini-Hochberg.
 */
export function clusteredQValues(p: ArrayLike<number>, cluster: ArrayLike<number>, tests: number): Float64Array {
  const order = ascendingOrder(p);
  const seen = new Set<number>();
  const rankAt = Array.from(order, (index) => seen.add(cluster[index] as number).size);
  return stepUp(p, (_rank, position) => rankAt[position] as number, tests);
}

function ascendingOrder(p: ArrayLike<number>): Uint32Array {
  return Uint32Array.from({ length: p.length }, (_, i) => i).sort((a, b) => (p[a] as number) - (p[b] as number));
}

function stepUp(p: ArrayLike<number>, rankOf: (rank: number, position: number) => number, tests: number): Float64Array {
  const order = ascendingOrder(p);
  const q = new Float64Array(p.length);
  let least = 1;
  for (let position = p.length - 1; position >= 0; position--) {
    const index = order[position] as number;
    least = Math.min(least, ((p[index] as number) * tests) / rankOf(position + 1, position));
    q[index] = least;
  }
  return q;
}

/** p of a statistic that `exceeding` of `permutations` reached or passed. */
export const permutationP = (exceeding: number, permutations: number): number => (1 + exceeding) / (1 + permutations);

/** Permutations without which not even the strongest of `tests` could be claimed at `q`. */
export const permutationsNeeded = (tests: number, q: number): number => Math.ceil(tests / q - 1);
