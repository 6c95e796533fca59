/**
 * How often chance reaches a surprise: counted over all shifts of the marks that are not near zero and over all fields
 * and directions of the action, p = (1 + exceeding) / (1 + counted), those that come
 * together counted as one. Pooling over the fields gives the resolution that one field's shifts cannot (as in Tusher,
 * Tibshirani and Chu 2001), and needs a statistic that is on one scale for all fields, which surprise is.
 * Beyond the last twenty exceedances the tail goes on as an exponential whose mean excess is the pool's own, never
 * steeper than exp(-surprise), which is the rate at which independent random instants reach it (Cramér 1938;
 * tails of permutation counts: Knijnenburg, Wessels, Reinders and Shmulevich 2009).
 */
import { permutationP } from '../kit/statistics/false-discovery.ts';

const BIN_NATS = 0.05;
const BINS = 8192;
const TAIL_FROM = 20;

export interface NullPool {
  readonly counts: Float64Array;
  total: number;
}

export const nullPool = (): NullPool => ({ counts: new Float64Array(BINS), total: 0 });

const binOf = (nats: number): number => {
  const bin = Math.floor(nats / BIN_NATS);
  return bin < 0 ? 0 : bin >= BINS ? BINS - 1 : bin;
};

/** Adds the surprises of shifts from..to (to exclusive). */
export function addToPool(pool: NullPool, surprises: Float64Array, from: number, to: number): void {
  for (let k = from; k < to; k++) {
    const bin = binOf(surprises[k] as number);
    pool.counts[bin] = (pool.counts[bin] as number) + 1;
  }
  pool.total += Math.max(0, to - from);
}

/** One-sided 99 % point, normal. */
const CAREFUL_Z = 2.33;

/** Upper 99 % limit of a count, about: the pool is itself a sample, and its tail a small one. */
const upperLimit = (count: number): number => count + CAREFUL_Z * Math.sqrt(count + 1);

interface Tail {
  readonly bin: number;
  readonly meanExcess: number;
}

/** Where fewer than TAIL_FROM exceedances are left, and their mean excess from there, at its upper limit. */
function tailOf(pool: NullPool, exceeding: Float64Array, clump: number): Tail {
  let bin = 0;
  while (bin < BINS - 1 && (exceeding[bin + 1] as number) / clump >= TAIL_FROM) bin++;
  let excess = 0;
  for (let k = bin; k < BINS; k++) excess += (pool.counts[k] as number) * (k + 0.5 - bin) * BIN_NATS;
  const meanExcess = excess / Math.max(1, exceeding[bin] as number);
  return { bin, meanExcess: Math.max(1, meanExcess * (1 + CAREFUL_Z / Math.sqrt(TAIL_FROM))) };
}

/**
 * p of a surprise, from the upper limit of how often the shifts reach it.
 * @param clump exceedances that come together and count as one
 */
export function poolTail(pool: NullPool, clump: number): (nats: number) => number {
  const exceeding = Float64Array.from(pool.counts);
  for (let bin = BINS - 2; bin >= 0; bin--)
    exceeding[bin] = (exceeding[bin] as number) + (exceeding[bin + 1] as number);
  const tail = tailOf(pool, exceeding, clump);
  const counted = (bin: number): number =>
    permutationP(upperLimit((exceeding[bin] as number) / clump), pool.total / clump);
  return (nats) => {
    const bin = binOf(nats);
    if (bin <= tail.bin) return counted(bin);
    return counted(tail.bin) * Math.exp((-(bin - tail.bin) * BIN_NATS) / tail.meanExcess);
  };
}
