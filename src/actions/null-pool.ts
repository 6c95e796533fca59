/**
 * How often chance reaches a surprise: counted over all shifts of the marks that are not near zero and over all fields
 * and directions of the action, p = (1 + exceeding) / (1 + counted). Pooling over the fields gives the
 * resolution that one field's shifts cannot (as in Tusher, Tibshirani and Chu 2001), and needs the
 * statistic to be on one scale for all fields, which surprise is.
 */
import { permutationP } from '../kit/statistics/false-discovery.ts';

const BIN_NATS = 0.05;
const BINS = 8192;

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

/** One-sided 95 % limit of a count, about: the pool itself is a sample, and its tail a small one. */
const upperLimit = (count: number): number => count + 1.645 * Math.sqrt(count + 1);

/**
 * p of a surprise, from the upper limit of how often the shifts reach it; a bin counts as reached by all that lie in it, which errs on the careful side.
 * @param clump neighbouring shifts that exceed together because they share their lags: counted as one
 */
export function poolTail(pool: NullPool, clump: number): (nats: number) => number {
  const exceeding = Float64Array.from(pool.counts);
  for (let bin = BINS - 2; bin >= 0; bin--)
    exceeding[bin] = (exceeding[bin] as number) + (exceeding[bin + 1] as number);
  return (nats) => permutationP(upperLimit((exceeding[binOf(nats)] as number) / clump), pool.total / clump);
}
