/** Guards as a house draws them up: one rule, one place. Common practice, no source; CRC parameters as published for the classes of checks. */
import type { Random } from '../../../src/kit/random.ts';
import { chance, weighted } from './draw.ts';

export type Secret = 'none' | 'identifier' | 'bytes' | 'by counter';

export interface CheckRule {
  readonly family: 'crc' | 'sum' | 'xor' | 'nibble sum' | 'nibble xor' | 'table';
  readonly width: 4 | 8 | 16 | 32;
  readonly poly: number;
  readonly init: number;
  readonly xorOut: number;
  readonly reflected: boolean;
  readonly secret: Secret;
  readonly secretFirst: boolean;
}

export interface CounterRule {
  readonly bits: number;
  readonly max: number;
  readonly step: number;
  readonly every: number;
}

export interface GuardStyle {
  /** Share of its frames with guards. */
  readonly share: number;
  readonly check: CheckRule | null;
  readonly counter: CounterRule | null;
  /** Where in the frame, or in its part of a long one. */
  readonly place: 'first' | 'last';
  /** A counter of less than a byte: in the upper half of its byte. */
  readonly upper: boolean;
  /** 16 and 32 bits wide: most significant byte first. */
  readonly bigFirst: boolean;
  readonly restarts: boolean;
}

const POLY_8 = [0x1d, 0x2f, 0x07, 0x31, 0x9b, 0xd5, 0x1d, 0x2f];
const POLY_16 = [0x1021, 0x8005, 0x1021, 0x3d65];
const POLY_32 = [0x04c11db7, 0xf4acfb13];
const POLY_4 = [0x3, 0x9, 0xf];

const plain = { poly: 0, init: 0, xorOut: 0, reflected: false, secret: 'none', secretFirst: true } as const;

function crc(width: 4 | 8 | 16 | 32, random: Random): CheckRule {
  const ones = 2 ** width - 1;
  const polys = { 4: POLY_4, 8: POLY_8, 16: POLY_16, 32: POLY_32 }[width];
  const secret = weighted(random, [
    [3, 'none'],
    [3, 'identifier'],
    [3, 'bytes'],
    [width === 8 ? 3 : 1, 'by counter'],
  ] as const);
  return {
    family: 'crc',
    width,
    poly: random.pick(polys),
    init: random.pick([0, ones]),
    xorOut: random.pick([0, ones]),
    reflected: chance(random, 0.15),
    secret,
    secretFirst: chance(random, 0.5),
  };
}

function check(random: Random): CheckRule {
  const kind = weighted(random, [
    [9, 'crc 8'],
    [3, 'sum'],
    [3, 'xor'],
    [1.5, 'nibble sum'],
    [1, 'nibble xor'],
    [1, 'crc 4'],
    [2, 'crc 16'],
    [1, 'sum 16'],
  ] as const);
  const secret = weighted(random, [
    [3, 'none'],
    [3, 'identifier'],
    [2, 'bytes'],
  ] as const);
  const turned = chance(random, 0.4);
  switch (kind) {
    case 'crc 8':
      return crc(8, random);
    case 'crc 16':
      return crc(16, random);
    case 'crc 4':
      return crc(4, random);
    case 'sum 16':
      return { ...plain, family: 'sum', width: 16, xorOut: turned ? 0xffff : 0, secret };
    // A sum is sent as it is or complemented; what else is in it was added.
    case 'nibble sum':
      return { ...plain, family: kind, width: 4, xorOut: turned ? 0xf : 0, secret };
    case 'nibble xor':
      return { ...plain, family: kind, width: 4, xorOut: turned ? 0xf : random.below(16), secret };
    case 'sum':
      return { ...plain, family: kind, width: 8, xorOut: turned ? 0xff : 0, secret };
    case 'xor':
      return { ...plain, family: kind, width: 8, xorOut: turned ? 0xff : random.pick([0, random.below(256)]), secret };
  }
}

export function drawCounter(random: Random): CounterRule {
  const bits = weighted(random, [
    [10, 4],
    [3, 8],
    [1.5, 2],
    [0.7, 3],
    [0.7, 16],
    [0.6, 1],
  ]);
  const whole = 2 ** bits - 1;
  const max =
    bits === 4 ? random.pick([15, 15, 14]) : bits === 8 && chance(random, 0.1) ? random.pick([254, 199, 99]) : whole;
  const isWide = bits >= 8 && max === whole;
  return {
    bits,
    max,
    step: isWide && chance(random, 0.1) ? random.pick([2, 5, 16, 17]) : bits > 1 && chance(random, 0.03) ? -1 : 1,
    every: chance(random, 0.06) ? random.pick([2, 3, 10]) : 1,
  };
}

export function drawGuardStyle(random: Random, guarded: number, trucks: boolean): GuardStyle {
  const share = guarded >= 1 ? 1 : Math.min(1, guarded * random.between(0.3, 1.8));
  const counter = drawCounter(random);
  const kind = weighted(random, [
    [guarded >= 1 ? 20 : trucks ? 1 : 5, 'both'],
    [2, 'counter'],
    [1, 'check'],
  ] as const);
  const rule = kind === 'counter' ? null : check(random);
  const needs = rule?.secret === 'by counter' || rule?.width === 4;
  return {
    share,
    check: rule,
    counter: needs ? { bits: 4, max: random.pick([15, 15, 14]), step: 1, every: 1 } : kind === 'check' ? null : counter,
    place: chance(random, 0.5) ? 'first' : 'last',
    upper: chance(random, 0.4),
    bigFirst: chance(random, 0.5),
    restarts: chance(random, 0.7),
  };
}

/** For a long frame: wide enough for its length. */
export const longCheck = (random: Random): CheckRule =>
  crc(
    weighted(random, [
      [4, 16],
      [2, 32],
      [2, 8],
    ] as const),
    random,
  );

/** Outside all families: each byte passes through a table of the house. */
export const TABLE_CHECK: CheckRule = { ...plain, family: 'table', width: 8, secret: 'bytes' };
