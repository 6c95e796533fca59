/**
 * Checksums worked out one bit or one byte at a time, apart from the project's own code, so that an error there is not shared here. Methods:
 * long division over GF(2) with the Rocksoft parameters (Williams 1993), sums, exclusive or, and a mixing that no family holds.
 */
export interface DivisionRule {
  readonly width: number;
  readonly poly: number;
  readonly init: number;
  readonly reflected: boolean;
  readonly xorout: number;
}

function reversed(value: number, width: number): number {
  let out = 0;
  for (let bit = 0; bit < width; bit++) if ((value >>> bit) & 1) out |= 1 << (width - 1 - bit);
  return out >>> 0;
}

/** The register is held at the top of 32 bits, so that one code serves every width. */
export function divide({ width, poly, init, reflected, xorout }: DivisionRule, message: readonly number[]): number {
  const up = 32 - width;
  const divisor = (poly << up) >>> 0;
  let register = (init << up) >>> 0;
  for (const byte of message) {
    for (let step = 0; step < 8; step++) {
      const bit = (byte >> (reflected ? step : 7 - step)) & 1;
      const out = (register >>> 31) ^ bit;
      register = (register << 1) >>> 0;
      if (out) register = (register ^ divisor) >>> 0;
    }
  }
  const rest = register >>> up;
  return ((reflected ? reversed(rest, width) : rest) ^ xorout) >>> 0;
}

export const addBytes = (message: readonly number[], start: number): number => {
  let sum = start;
  for (const byte of message) sum = (sum + byte) & 0xff;
  return sum;
};

/** What leaves at the top comes in again at the bottom. */
export const addAround = (message: readonly number[]): number => {
  let sum = 0;
  for (const byte of message) {
    sum += byte;
    if (sum > 0xff) sum -= 0xff;
  }
  return sum;
};

export const addNibbles = (message: readonly number[], start: number): number => {
  let sum = start;
  for (const byte of message) sum = (sum + (byte >> 4) + (byte & 15)) & 15;
  return sum;
};

export const xorBytes = (message: readonly number[], start: number): number => {
  let out = start;
  for (const byte of message) out ^= byte;
  return out;
};

/** Neither affine over GF(2) nor modulo a power of two: products and rotations take turns. 32 bits. */
export function mixBeyondFamilies(message: readonly number[], key: number): number {
  let a = key | 1;
  let b = (key ^ 0x5bd1e995) >>> 0;
  for (const byte of message) {
    a = Math.imul(a ^ byte, 0x2c1b3c6d) >>> 0;
    b = (((b << 7) | (b >>> 25)) + Math.imul(a, a | byte)) >>> 0;
    a = (a ^ (b >>> 11)) >>> 0;
  }
  return (a ^ Math.imul(b, 0x297a2d39) ^ (b >>> 15)) >>> 0;
}
