/** Works guards out over the bytes of one frame. */
import type { Random } from '../../../src/kit/random.ts';
import type { CheckRule } from './guard-style.ts';

/** Message bytes in order; the secret bytes of this frame. */
export type Check = (message: readonly number[]) => number;

const reversed = (value: number, bits: number): number => {
  let [out, rest] = [0, value];
  for (let at = 0; at < bits; at++) {
    out = out * 2 + (rest & 1);
    rest = Math.floor(rest / 2);
  }
  return out;
};
const REVERSED = Array.from({ length: 256 }, (_, byte) => reversed(byte, 8));

/** Bit after bit, most significant first: the register holds `width` bits in the upper end of 32. */
function crcTable({ width, poly }: CheckRule): Uint32Array {
  const shifted = (poly << (32 - width)) >>> 0;
  return Uint32Array.from({ length: 256 }, (_, byte) => {
    let register = (byte << 24) >>> 0;
    for (let bit = 0; bit < 8; bit++)
      register = register >>> 31 === 1 ? ((register << 1) ^ shifted) >>> 0 : (register << 1) >>> 0;
    return register;
  });
}

function crc(rule: CheckRule): Check {
  const { width, init, xorOut, reflected: isReflected } = rule;
  const table = crcTable(rule);
  const start = (init << (32 - width)) >>> 0;
  return (message) => {
    let register = start;
    for (const byte of message) {
      const next = isReflected ? REVERSED[byte]! : byte;
      register = (((register << 8) >>> 0) ^ table[(register >>> 24) ^ next]!) >>> 0;
    }
    const value = register >>> (32 - width);
    return ((isReflected ? reversed(value, width) : value) ^ xorOut) >>> 0;
  };
}

/** random: draws the house's table where the rule has one. */
export function checkOf(rule: CheckRule, random: Random): Check {
  const mask = rule.width === 32 ? 0xffffffff : 2 ** rule.width - 1;
  const table = rule.family === 'table' ? random.shuffle(Array.from({ length: 256 }, (_, at) => at)) : [];
  const done = (value: number): number => ((value & mask) ^ rule.xorOut) >>> 0;
  switch (rule.family) {
    case 'crc':
      return crc(rule);
    case 'sum':
      return (message) => done(message.reduce((sum, byte) => sum + byte, 0));
    case 'xor':
      return (message) => done(message.reduce((sum, byte) => sum ^ byte, 0));
    case 'nibble sum':
      return (message) => done(message.reduce((sum, byte) => sum + (byte >> 4) + (byte & 15), 0));
    case 'nibble xor':
      return (message) => done(message.reduce((sum, byte) => sum ^ (byte >> 4) ^ (byte & 15), 0));
    case 'table':
      return (message) => message.reduce((sum, byte) => table[(sum + byte) & 255]!, 0);
  }
}

const mixed = (value: number): number => {
  let z = Math.imul(value ^ (value >>> 16), 0x7feb352d);
  z = Math.imul(z ^ (z >>> 15), 0x846ca68b);
  return (z ^ (z >>> 16)) >>> 0;
};

/** So many bytes that depend on all of the message, a key and a number that never comes again. */
export function tagOf(message: ArrayLike<number>, key: number, fresh: number, bytes: number): number[] {
  let [a, b] = [mixed(key ^ 0x51ed270b), mixed((key + fresh) >>> 0)];
  for (let at = 0; at < message.length; at++) {
    a = mixed((a ^ message[at]!) + b + at);
    b = mixed((b ^ a) + fresh);
  }
  return Array.from({ length: bytes }, (_, at) => {
    [a, b] = [mixed(a + 0x9e3779b9 + b), mixed(b ^ (a + at))];
    return (a ^ b) & 255;
  });
}
