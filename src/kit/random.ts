/**
 * Seeded pseudo-random numbers: 32-bit xoshiro128** (Blackman and Vigna 2018), seeded by splitmix32.
 * Every analysis and every simulated vehicle takes one, so that a run can be repeated to the bit.
 */
export interface Random {
  /** Uniform in [0, 1). */
  next(): number;
  /** Uniform integer in [0, below). */
  below(below: number): number;
  /** Uniform in [low, high). */
  between(low: number, high: number): number;
  /** Standard normal (polar method). */
  normal(): number;
  pick<T>(items: readonly T[]): T;
  /** In place, Fisher and Yates. */
  shuffle<T>(items: T[]): T[];
  /** An independent stream, named so that adding one does not move the others. */
  fork(name: string): Random;
}

function splitmix32(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x9e3779b9) >>> 0;
    let z = state;
    z = Math.imul(z ^ (z >>> 16), 0x85ebca6b);
    z = Math.imul(z ^ (z >>> 13), 0xc2b2ae35);
    return (z ^ (z >>> 16)) >>> 0;
  };
}

/** FNV-1a over the UTF-16 units of a text, for seeds made of names. */
export function seedOf(text: string): number {
  let hash = 0x811c9dc5;
  for (let i = 0; i < text.length; i++) hash = Math.imul(hash ^ text.charCodeAt(i), 0x01000193);
  return hash >>> 0;
}

const rotateLeft = (x: number, k: number): number => ((x << k) | (x >>> (32 - k))) >>> 0;

export function createRandom(seed: number | string): Random {
  const numericSeed = typeof seed === 'string' ? seedOf(seed) : seed >>> 0;
  const mix = splitmix32(numericSeed);
  let a = mix();
  let b = mix();
  let c = mix();
  let d = mix();
  const word = (): number => {
    const result = Math.imul(rotateLeft(Math.imul(b, 5) >>> 0, 7), 9) >>> 0;
    const t = (b << 9) >>> 0;
    c ^= a;
    d ^= b;
    b ^= c;
    a ^= d;
    c ^= t;
    d = rotateLeft(d >>> 0, 11);
    return result;
  };
  const next = (): number => word() / 0x100000000;
  const below = (limit: number): number => Math.floor(next() * limit);
  const random: Random = {
    next,
    below,
    between: (low, high) => low + (high - low) * next(),
    normal() {
      for (;;) {
        const u = 2 * next() - 1;
        const v = 2 * next() - 1;
        const s = u * u + v * v;
        if (s > 0 && s < 1) return u * Math.sqrt((-2 * Math.log(s)) / s);
      }
    },
    pick: (items) => items[below(items.length)] as never,
    shuffle(items) {
      for (let i = items.length - 1; i > 0; i--) {
        const j = below(i + 1);
        [items[i], items[j]] = [items[j] as never, items[i] as never];
      }
      return items;
    },
    fork: (name) => createRandom((numericSeed ^ seedOf(name)) >>> 0),
  };
  return random;
}
