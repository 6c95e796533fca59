/**
 * How many bits it takes to write a sequence down with a code that learns as it goes. Symbols of unknown
 * probability cost what the Krichevsky-Trofimov estimator charges (IEEE Trans. Inf. Theory 27, 1981): the price
 * of learning the probabilities is included, so models of different richness compare fairly (Rissanen 1978).
 */

const LOG2_PI = Math.log2(Math.PI);

/** log2 of the gamma function at halves: entry i holds log2 gamma(i / 2), i >= 1. */
let gammaAtHalves = new Float64Array([0, LOG2_PI / 2, 0]);

function growTable(size: number): void {
  const next = new Float64Array(Math.max(size + 1, gammaAtHalves.length * 2));
  next.set(gammaAtHalves);
  for (let i = Math.max(3, gammaAtHalves.length); i < next.length; i++) {
    next[i] = (next[i - 2] as number) + Math.log2(i / 2 - 1);
  }
  gammaAtHalves = next;
}

/** log2 gamma(halves / 2). */
function logGammaHalf(halves: number): number {
  if (halves >= gammaAtHalves.length) growTable(halves);
  return gammaAtHalves[halves] as number;
}

/** Bits to write a sequence of two symbols seen `a` and `b` times. */
export function binaryCost(a: number, b: number): number {
  return logGammaHalf(2 * (a + b) + 2) - logGammaHalf(2 * a + 1) - logGammaHalf(2 * b + 1) + LOG2_PI;
}

/**
 * The same for what may be seldom: `b` of all at unknown places, each order of magnitude of `b` as likely as any other (the prior 1 / b
 * of Jeffreys, Theory of Probability 1939, for a scale). It takes a few moves of a flag for what they are, where `binaryCost` would pay for their share as if
 * it might be any.
 */
export function seldomCost(a: number, b: number): number {
  const evenly = binaryCost(a, b);
  if (b === 0) return evenly;
  const places = logGammaHalf(2 * (a + b) + 2) - logGammaHalf(2 * a + 2) - logGammaHalf(2 * b + 2);
  return Math.min(evenly, places + Math.log2(b) + Math.log2(1 + Math.log(1 + a + b)));
}

const ALPHABET_MAX = 40;
const choices = new Float64Array((ALPHABET_MAX + 1) * (ALPHABET_MAX + 1));
for (let n = 0; n <= ALPHABET_MAX; n++) {
  for (let k = 0; k <= n; k++) choices[n * (ALPHABET_MAX + 1) + k] = chooseCost(n, k);
}

/**
 * Bits to write a sequence over an alphabet of `size` <= 40 symbols, of which `counts[from..to)` gives how often each
 * came: first which symbols come at all, then the sequence over those. A symbol that comes once does not spoil the rest.
 */
export function symbolCost(counts: Int32Array, from: number, to: number, size: number): number {
  let total = 0;
  let used = 0;
  let cost = 0;
  for (let i = from; i < to; i++) {
    const times = counts[i] as number;
    if (times === 0) continue;
    used++;
    total += times;
    cost -= logGammaHalf(2 * times + 1) - LOG2_PI / 2;
  }
  if (total === 0) return 0;
  const naming = Math.log2(size) + (choices[size * (ALPHABET_MAX + 1) + used] as number);
  return naming + cost + logGammaHalf(2 * total + used) - logGammaHalf(used);
}

/** log2 of the number of ways to choose `k` of `n`. */
export function chooseCost(n: number, k: number): number {
  let bits = 0;
  for (let i = 0; i < k; i++) bits += Math.log2((n - i) / (i + 1));
  return bits;
}
