/**
 * Works out the tags of a stranger's frames: division over GF(2) by a shift register (Peterson and Brown 1961), sums, exclusive or, and a
 * mixing for what no rule holds.
 */
import type { GuardPlan, HouseRule } from './layout.ts';

function reflected(value: number, width: number): number {
  let out = 0;
  let rest = value;
  for (let bit = 0; bit < width; bit++) {
    out = out * 2 + (rest % 2);
    rest = Math.floor(rest / 2);
  }
  return out;
}

export function shiftThrough(rule: HouseRule, width: number, message: readonly number[]): number {
  const mask = width === 32 ? 0xffffffff : (1 << width) - 1;
  let register = rule.init >>> 0;
  for (const byte of message) {
    for (let step = 0; step < 8; step++) {
      const bit = (byte >> (rule.reflected ? step : 7 - step)) & 1;
      const out = (register >>> (width - 1)) & 1;
      register = ((register << 1) & mask) >>> 0;
      if (out !== bit) register = (register ^ rule.poly) >>> 0;
    }
  }
  return ((rule.reflected ? reflected(register, width) : register) ^ rule.xorout) >>> 0;
}

/** 32 bits that depend on all bytes and are no sum, no exclusive or and no division of them. */
export function scramble(seed: number, bytes: Iterable<number>): number {
  let hash = seed | 0;
  for (const byte of bytes) {
    hash = Math.imul(hash ^ byte ^ (hash >>> 15), 0x2c1b3c6d);
    hash = Math.imul(hash ^ (hash >>> 12), 0x297a2d39);
    hash ^= hash >>> 15;
  }
  return hash >>> 0;
}

const nibbles = (byte: number): readonly number[] => [byte >> 4, byte & 15];

function sumOf({ kind, place, rule }: GuardPlan, message: readonly number[]): number {
  const all = 2 ** place.length;
  let sum = place.length === 4 || kind === 'sum8id' || kind === 'sum8len' ? 0 : rule.init;
  for (const unit of place.length === 4 ? message.flatMap(nibbles) : message) {
    sum += unit;
    if (kind === 'sum8carry' && sum > 255) sum -= 255;
  }
  return kind === 'sum8not' ? 255 - (sum % all) : sum % all;
}

function xorOf({ place, rule }: GuardPlan, message: readonly number[]): number {
  const units = place.length === 4 ? message.flatMap(nibbles) : message;
  return units.reduce((sum, unit) => sum ^ unit, rule.xorout);
}

/** The tag's own bits must be zero in the payload. counter: its value; sent: how many frames went out before, which only keyed tags take. */
export function tagOf(guard: GuardPlan, payload: Uint8Array, counter: number, sent: number): number {
  const { kind, place, covers, prefix, suffix, table, key, rule } = guard;
  const own = covers.map((byte) => payload[byte] as number);
  const message = [...prefix, ...own, ...suffix, ...(table ? [table[counter % 16] as number] : [])];
  if (kind === 'mac') return scramble(key, [...message, sent & 255, (sent >> 8) & 255, sent >> 16]) % 2 ** place.length;
  if (kind === 'unsolved') return scramble(key, message) % 2 ** place.length;
  if (kind.startsWith('crc')) return shiftThrough(rule, place.length, message);
  return kind.startsWith('xor') ? xorOf(guard, message) : sumOf(guard, message);
}
