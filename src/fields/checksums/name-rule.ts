/**
 * From a solved polynomial to parameters a person knows: of all equal ways to write the rule's constant (start value, final
 * value, bytes before or after), the simplest that reproduces the payloads. Plain start and final values first, then
 * the identifier's own bytes, then secret bytes, then whatever final value is left over.
 */
import { compileSmallCrc, type CrcParameters, type SmallCrc } from '../../map/crc.ts';
import type { MapChecksum } from '../../map/schema.ts';
import type { ArithmeticRule } from './arithmetic.ts';
import type { CrcRule } from './crc-solve.ts';
import { tagValue, type TagPlace } from './places.ts';

const hex = (value: number): string => '0x' + value.toString(16).toUpperCase();

export type RuleParameters = Pick<MapChecksum, 'method'> & Partial<MapChecksum>;

interface Constants {
  readonly init: number;
  readonly xorout: number;
}

/** Start and final value that publications pair with a polynomial, as [start is ones, final is ones]. */
const USUAL_PAIRS: Readonly<Record<string, readonly [boolean, boolean]>> = {
  '8:29': [true, true],
  '8:47': [true, true],
  '16:4129': [true, false],
};

/** Start and final values to try for secret bytes, where each of them would do: the published pair first. */
function usualConstants(width: number, poly: number): Constants[] {
  const ones = 2 ** width - 1;
  const pair = USUAL_PAIRS[`${width}:${poly}`];
  return [...(pair ? [{ init: pair[0] ? ones : 0, xorout: pair[1] ? ones : 0 }] : []), ...simpleConstants(width)];
}

function simpleConstants(width: number): Constants[] {
  const ones = 2 ** width - 1;
  return [
    { init: 0, xorout: 0 },
    { init: ones, xorout: ones },
    { init: ones, xorout: 0 },
    { init: 0, xorout: ones },
  ];
}

const parametersOf = (width: number, rule: CrcRule, constants: Constants): CrcParameters => ({
  width,
  poly: BigInt(rule.poly),
  init: BigInt(constants.init),
  refin: rule.reflected,
  refout: rule.reflected,
  xorout: BigInt(constants.xorout),
});

const coveredOf = (rule: CrcRule, place: TagPlace, payload: Uint8Array): number[] =>
  rule.covers.map((byte) => (payload[byte] as number) & ~(place.mask[byte] as number));

const feedAll = (crc: SmallCrc, register: number, bytes: readonly number[]): number =>
  bytes.reduce((state, byte) => crc.feed(state, byte), register);

interface Frame {
  readonly prefix: readonly number[];
  readonly suffix: readonly number[];
}

const NOTHING: Frame = { prefix: [], suffix: [] };

/** The identifier's bytes in the orders in which protocols feed them, before or behind the payload. */
function identifierFrames(id: number, suffixBytes: number): Frame[] {
  const low = id & 0xff;
  const high = (id >> 8) & 0xff;
  if (suffixBytes === 1) return [{ prefix: [], suffix: [low] }];
  if (suffixBytes === 2)
    return [
      { prefix: [], suffix: [low, high] },
      { prefix: [], suffix: [high, low] },
    ];
  return [
    { prefix: [low], suffix: [] },
    { prefix: [low, high], suffix: [] },
    { prefix: [high, low], suffix: [] },
  ];
}

/** Secret bytes behind the payload that make it come out right; null where none do. */
function solveSuffix(crc: SmallCrc, register: number, suffixBytes: number, tag: number): number[] | null {
  for (let value = 0; value < 256 ** suffixBytes; value++) {
    const bytes = suffixBytes === 1 ? [value] : [value & 0xff, value >> 8];
    if (crc.finish(feedAll(crc, register, bytes)) === tag) return bytes;
  }
  return null;
}

function crcParameters(rule: CrcRule, width: number, constants: Constants, frame: Frame): RuleParameters {
  return {
    method: 'crc',
    width,
    poly: hex(rule.poly),
    init: hex(constants.init),
    refin: rule.reflected,
    refout: rule.reflected,
    xorout: hex(constants.xorout),
    covers: [...rule.covers],
    ...(frame.prefix.length > 0 ? { prefix: frame.prefix.map(hex) } : {}),
    ...(frame.suffix.length > 0 ? { suffix: frame.suffix.map(hex) } : {}),
  };
}

/** The simplest parameters of a CRC that reproduce one payload (the rest follows, the rule being affine). */
export function nameCrc(rule: CrcRule, place: TagPlace, payload: Uint8Array, id: number): RuleParameters | null {
  const width = place.length;
  const covered = coveredOf(rule, place, payload);
  const tag = tagValue(place, payload);
  const frames =
    rule.suffixBytes === 0 ? [NOTHING, ...identifierFrames(id, 0)] : identifierFrames(id, rule.suffixBytes);
  for (const frame of frames) {
    for (const constants of simpleConstants(width)) {
      const crc = compileSmallCrc(parametersOf(width, rule, constants));
      const register = feedAll(crc, crc.start, [...frame.prefix, ...covered, ...frame.suffix]);
      if (crc.finish(register) === tag) return crcParameters(rule, width, constants, frame);
    }
  }
  return rule.suffixBytes > 0 ? nameSecretSuffix(rule, width, covered, tag) : nameFinalValue(rule, width, covered, tag);
}

function nameFinalValue(rule: CrcRule, width: number, covered: readonly number[], tag: number): RuleParameters {
  const crc = compileSmallCrc(parametersOf(width, rule, { init: 0, xorout: 0 }));
  const xorout = (crc.finish(feedAll(crc, crc.start, covered)) ^ tag) >>> 0;
  return crcParameters(rule, width, { init: 0, xorout }, NOTHING);
}

function nameSecretSuffix(
  rule: CrcRule,
  width: number,
  covered: readonly number[],
  tag: number,
): RuleParameters | null {
  for (const constants of usualConstants(width, rule.poly)) {
    const crc = compileSmallCrc(parametersOf(width, rule, constants));
    const suffix = solveSuffix(crc, feedAll(crc, crc.start, covered), rule.suffixBytes, tag);
    if (suffix) return crcParameters(rule, width, constants, { prefix: [], suffix });
  }
  const crc = compileSmallCrc(parametersOf(width, rule, { init: 0, xorout: 0 }));
  const suffix = new Array<number>(rule.suffixBytes).fill(0);
  const xorout = (crc.finish(feedAll(crc, crc.start, [...covered, ...suffix])) ^ tag) >>> 0;
  return crcParameters(rule, width, { init: 0, xorout }, { prefix: [], suffix });
}

/**
 * A CRC whose constant depends on the counter: one byte a counter value, before the payload or behind it.
 * examples: for each counter value 0..n-1 a payload that carries it.
 */
export function nameCrcByCounter(
  rule: CrcRule,
  place: TagPlace,
  examples: readonly Uint8Array[],
): RuleParameters | null {
  const width = place.length;
  const behind = rule.suffixBytes > 0;
  for (const constants of behind ? usualConstants(width, rule.poly) : simpleConstants(width)) {
    const crc = compileSmallCrc(parametersOf(width, rule, constants));
    const table = examples.map((payload) => {
      const covered = coveredOf(rule, place, payload);
      const tag = tagValue(place, payload);
      if (behind) return solveSuffix(crc, feedAll(crc, crc.start, covered), rule.suffixBytes, tag);
      return solvePrefix(crc, covered, Math.ceil(width / 8), tag);
    });
    if (table.some((bytes) => bytes === null)) continue;
    const written = table.map((bytes) => (bytes as number[]).map(hex));
    return {
      ...crcParameters(rule, width, constants, NOTHING),
      [behind ? 'suffixByCounter' : 'prefixByCounter']: written,
    };
  }
  return null;
}

function solvePrefix(crc: SmallCrc, covered: readonly number[], prefixBytes: number, tag: number): number[] | null {
  if (prefixBytes > 2) return null;
  for (let value = 0; value < 256 ** prefixBytes; value++) {
    const bytes = prefixBytes === 1 ? [value] : [value & 0xff, value >> 8];
    if (crc.finish(feedAll(crc, feedAll(crc, crc.start, bytes), covered)) === tag) return bytes;
  }
  return null;
}

/** A sum or exclusive or with the constant that remained. */
export function nameArithmetic(rule: ArithmeticRule, place: TagPlace, constant: number): RuleParameters {
  const ones = 2 ** place.length - 1;
  const common = {
    width: place.length,
    covers: [...rule.covers],
    ...(rule.unit === 'byte' ? {} : { unit: rule.unit }),
  };
  switch (rule.method) {
    case 'xor':
      return { ...common, method: 'xor', init: hex(constant), xorout: '0x0' };
    case 'sum':
      return { ...common, method: 'sum', init: hex(constant), xorout: '0x0' };
    case 'sum-complement':
      return { ...common, method: 'sum', init: hex((2 * ones + 1 - constant) % (ones + 1)), xorout: hex(ones) };
    case 'sum-end-around':
      return { ...common, method: 'sum', init: hex(constant), xorout: '0x0', carry: 'end-around' };
    case 'sum-end-around-complement':
      return { ...common, method: 'sum', init: hex((ones - constant) % ones), xorout: hex(ones), carry: 'end-around' };
  }
}
