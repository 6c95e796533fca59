/** Reads the veteran's traffic back by arithmetic of its own: bit after bit, and long division for cyclic checks. */
import type { Placement } from '../../../src/frames/bits.ts';
import type { Stream } from '../../../src/frames/table.ts';
import type { KnownCoding, Presence } from '../fields-truth.ts';
import type { CheckRule } from './guard-style.ts';

/** Bits of a field as byte * 8 + bit, the least significant first: up within a byte, then on to the next byte or to the one before. */
export function bitsOf({ lsb, length, order }: Placement): number[] {
  const bits: number[] = [];
  for (let k = 0; k < length; k++) {
    const climbed = lsb.bit + k;
    const byte = lsb.byte + (order === 'little' ? 1 : -1) * Math.floor(climbed / 8);
    bits.push(byte * 8 + (climbed % 8));
  }
  return bits;
}

export const rowBytes = ({ payload, stride }: Stream, row: number): number[] =>
  Array.from(payload.subarray(row * stride, (row + 1) * stride));

/** Unsigned. */
export function readBits(bytes: readonly number[], place: Placement): number {
  return bitsOf(place).reduce((sum, at, k) => sum + (Math.floor(bytes[at >> 3]! / 2 ** (at & 7)) % 2) * 2 ** k, 0);
}

export const holdsOn = (bytes: readonly number[], on: Presence): boolean =>
  on.every(({ place, values }) => values.includes(readBits(bytes, place)));

/** The number that a raw value stands for; NaN for what is none. */
export function numberOf(raw: number, coding: KnownCoding, bits: number): number {
  const half = 2 ** (bits - 1);
  if (coding === 'signed') return raw < half ? raw : raw - 2 * half;
  if (coding === 'sign-magnitude') return raw < half ? raw : half - raw;
  if (coding === 'bcd') return Math.floor(raw / 16) * 10 + (raw % 16);
  if (coding === 'float') return Buffer.from(raw.toString(16).padStart(8, '0'), 'hex').readFloatBE();
  return coding === 'text' ? Number.NaN : raw;
}

const turned = (value: bigint, bits: number): bigint =>
  BigInt(`0b${value.toString(2).padStart(bits, '0').split('').reverse().join('')}`);

/** Remainder of the message times x^width, the first `width` bits complemented as `init` says: polynomial long division. */
export function remainder(rule: CheckRule, message: readonly number[]): number {
  const width = BigInt(rule.width);
  const bytes = rule.reflected ? message.map((byte) => Number(turned(BigInt(byte), 8))) : message;
  const bits = BigInt(8 * bytes.length);
  let value = bytes.reduce((sum, byte) => sum * 256n + BigInt(byte), 0n) << width;
  value ^= ((BigInt(rule.init) << width) << bits) >> width;
  const divisor = (1n << width) | BigInt(rule.poly);
  for (let at = bits + width - 1n; at >= width; at--) if ((value >> at) & 1n) value ^= divisor << (at - width);
  return Number((rule.reflected ? turned(value, rule.width) : value) ^ BigInt(rule.xorOut));
}

/** A check of any family but those that need a table. */
export function checkValue(rule: CheckRule, message: readonly number[]): number {
  if (rule.family === 'crc') return remainder(rule, message);
  const parts = rule.family.startsWith('nibble')
    ? message.flatMap((byte) => [byte % 16, Math.floor(byte / 16)])
    : message;
  const isSum = rule.family.endsWith('sum');
  const all = parts.reduce((sum, part) => (isSum ? (sum + part) % 2 ** rule.width : sum ^ part), 0);
  return all ^ rule.xorOut;
}
