/** A counter's rule as constants for judging what arrives: how a difference between two values becomes a number of steps. */
import { counterModulus } from '../../map/counter.ts';
import type { MapCounter } from '../../map/schema.ts';
import { gcd } from './whole-numbers.ts';

export interface CountRule {
  readonly min: bigint;
  readonly modulus: bigint;
  /** One step, 0 <= step < modulus. */
  readonly step: bigint;
  /** Every difference that the rule can make is a multiple of it. */
  readonly unit: bigint;
  /** steps = (difference / unit x inverse) mod (modulus / unit); 0 where only a single step is told. */
  readonly inverse: bigint;
  readonly every: number;
}

const modulo = (value: bigint, modulus: bigint): bigint => ((value % modulus) + modulus) % modulus;

/** By the extended Euclidean algorithm (Knuth, The Art of Computer Programming, volume 2, 4.5.2; from memory). */
function inverseOf(value: bigint, modulus: bigint): bigint {
  let [a, b, x, y] = [modulo(value, modulus), modulus, 1n, 0n];
  while (b !== 0n) [a, b, x, y] = [b, a % b, y, x - (a / b) * y];
  return modulo(x, modulus);
}

export function countRule(counter: MapCounter): CountRule {
  const modulus = BigInt(counterModulus(counter));
  const step = modulo(BigInt(counter.step), modulus);
  const unit = gcd(step, modulus);
  const cycle = modulus / unit;
  // The product of two values below the cycle must fit 64 bits, unless the inverse is one.
  const inverse = cycle === 1n ? 0n : inverseOf(step / unit, cycle);
  const fits = cycle <= 2n ** 32n || inverse === 1n;
  return { min: BigInt(counter.min), modulus, step, unit, inverse: fits ? inverse : 0n, every: counter.every };
}
