/**
 * Checksums by the map's rule: exclusive or, sums, CRCs of any width to 64 (Rocksoft model, Williams 1993)
 * and complemented copies. A rule is compiled once for its frame; bytewise CRCs to 32 bits, byte sums and
 * byte XORs have a path without allocation. `mac` and `unsolved` cannot be computed: they compile to null.
 */
import { placementLength } from '../frames/bits.ts';
import type { Stream } from '../frames/table.ts';
import { lengthAt } from '../frames/table.ts';
import { messageBytes, planMessage, UNIT_BITS, unitsOf, type MessagePlan } from './checksum-message.ts';
import { compileSmallCrc, compileWideCrc, type CrcParameters } from './crc.ts';
import { compileWhen } from './pages.ts';
import { bigOf, compileReader, type RawValue } from './raw-values.ts';
import type { MapChecksum, MapFrame } from './schema.ts';

/**
 * The checksum that the payload at `offset`, `length` bytes long, ought to carry: a number up to 32 bits, else a bigint.
 * NaN where the frame is too short or the counter points beyond the tables.
 */
export type ChecksumFunction = (payload: Uint8Array, offset: number, length: number) => RawValue;

type GuardedFrame = Pick<MapFrame, 'counters' | 'selectors'>;

/** Width of the computation in bits: what the rule says, else the field's length. */
export const checksumWidth = (checksum: MapChecksum): number =>
  checksum.width ?? Math.min(64, placementLength(checksum));

function crcParameters(checksum: MapChecksum): CrcParameters {
  return {
    width: checksumWidth(checksum),
    poly: bigOf(checksum.poly ?? '0x0'),
    init: bigOf(checksum.init ?? '0x0'),
    refin: checksum.refin ?? false,
    refout: checksum.refout ?? false,
    xorout: bigOf(checksum.xorout ?? '0x0'),
  };
}

type Evaluate = (payload: Uint8Array, offset: number) => RawValue;

function smallCrc(plan: MessagePlan, parameters: CrcParameters): Evaluate {
  const crc = compileSmallCrc(parameters);
  const feedAll = (register: number, bytes: readonly number[]): number => bytes.reduce(crc.feed, register);
  const prefixed = feedAll(crc.start, plan.prefix);
  const starts = plan.prefixByCounter?.map((bytes) => feedAll(prefixed, bytes)) ?? null;
  const { covered, suffix, suffixByCounter } = plan;
  return (payload, offset) => {
    const at = plan.pick(payload, offset);
    let register = starts ? (starts[at] as number) : prefixed;
    for (let i = 0; i < covered.length; i++) {
      const { byte, mask } = covered[i] as { byte: number; mask: number };
      register = crc.feed(register, (payload[offset + byte] as number) & mask);
    }
    for (let i = 0; i < suffix.length; i++) register = crc.feed(register, suffix[i] as number);
    if (suffixByCounter) register = feedAll(register, suffixByCounter[at] as number[]);
    return crc.finish(register);
  };
}

function wideCrc(plan: MessagePlan, parameters: CrcParameters, unit: NonNullable<MapChecksum['unit']>): Evaluate {
  const crc = compileWideCrc(parameters);
  return (payload, offset) => {
    const units = unitsOf(messageBytes(plan, payload, offset), unit);
    const register = units.reduce((state, value) => crc.feed(state, BigInt(value), UNIT_BITS[unit]), crc.start);
    return crc.finish(register);
  };
}

function foldCarry(total: bigint, width: bigint): bigint {
  let folded = total;
  while (folded >> width) folded = BigInt.asUintN(Number(width), folded) + (folded >> width);
  return folded;
}

function anySum(checksum: MapChecksum, plan: MessagePlan): Evaluate {
  const width = checksumWidth(checksum);
  const { init, xorout } = crcParameters(checksum);
  const endAround = checksum.carry === 'end-around';
  const unit = checksum.unit ?? 'byte';
  return (payload, offset) => {
    const units = unitsOf(messageBytes(plan, payload, offset), unit);
    const total = units.reduce((sum, value) => sum + BigInt(value), init);
    const sum = endAround ? foldCarry(total, BigInt(width)) : total;
    return BigInt.asUintN(width, sum ^ xorout);
  };
}

function anyXor(checksum: MapChecksum, plan: MessagePlan): Evaluate {
  const width = checksumWidth(checksum);
  const { init, xorout } = crcParameters(checksum);
  const unit = checksum.unit ?? 'byte';
  return (payload, offset) => {
    const units = unitsOf(messageBytes(plan, payload, offset), unit);
    const all = units.reduce((value, next) => value ^ BigInt(next), init);
    return BigInt.asUintN(width, all ^ xorout);
  };
}

/** Byte sums and XORs without tables by counter, width to 32: constants folded, no allocation. */
function smallSumOrXor(checksum: MapChecksum, plan: MessagePlan): Evaluate {
  const { covered } = plan;
  const fold = checksum.method === 'sum' ? (a: number, b: number) => a + b : (a: number, b: number) => a ^ b;
  const modulus = 2 ** checksumWidth(checksum);
  const keep = (value: bigint): number => Number(BigInt.asUintN(checksumWidth(checksum), value));
  const { init, xorout } = crcParameters(checksum);
  const start = [...plan.prefix, ...plan.suffix].reduce(fold, keep(init));
  const final = keep(xorout);
  return (payload, offset) => {
    let value = start;
    for (let i = 0; i < covered.length; i++) {
      const { byte, mask } = covered[i] as { byte: number; mask: number };
      value = fold(value, (payload[offset + byte] as number) & mask);
    }
    return (((value >>> 0) % modulus) ^ final) >>> 0;
  };
}

/** The covered bits joined, first entry most significant, each entry's bits packed to the right. */
function copyOf(checksum: MapChecksum, plan: MessagePlan): Evaluate {
  const bits = plan.covered.flatMap(({ byte, mask }) =>
    [7, 6, 5, 4, 3, 2, 1, 0].filter((bit) => (mask >> bit) & 1).map((bit) => ({ byte, bit })),
  );
  const width = checksumWidth(checksum);
  const { xorout } = crcParameters(checksum);
  return (payload, offset) => {
    const joined = bits.reduce(
      (value, { byte, bit }) => (value << 1n) | BigInt(((payload[offset + byte] as number) >> bit) & 1),
      0n,
    );
    return BigInt.asUintN(width, joined ^ xorout);
  };
}

function chooseEvaluation(checksum: MapChecksum, plan: MessagePlan): Evaluate {
  const unit = checksum.unit ?? 'byte';
  const small = checksumWidth(checksum) <= 32 && unit === 'byte';
  const tables = plan.prefixByCounter ?? plan.suffixByCounter;
  switch (checksum.method) {
    case 'crc':
      return small ? smallCrc(plan, crcParameters(checksum)) : wideCrc(plan, crcParameters(checksum), unit);
    case 'copy':
      return copyOf(checksum, plan);
    case 'sum':
      return small && !tables && checksum.carry !== 'end-around'
        ? smallSumOrXor(checksum, plan)
        : anySum(checksum, plan);
    default:
      return small && !tables ? smallSumOrXor(checksum, plan) : anyXor(checksum, plan);
  }
}

/** Null where the rule cannot be computed: `mac`, `unsolved`, no `covers`, a CRC without `poly`, tables without a counter. */
export function compileChecksum(checksum: MapChecksum, frame: Pick<MapFrame, 'counters'>): ChecksumFunction | null {
  if (checksum.method === 'mac' || checksum.method === 'unsolved') return null;
  if (!checksum.covers || (checksum.method === 'crc' && !checksum.poly)) return null;
  const plan = planMessage(checksum, frame);
  if (!plan) return null;
  const evaluate = chooseEvaluation(checksum, plan);
  const stored = BigInt(placementLength(checksum));
  const narrow = checksumWidth(checksum) <= 32;
  const mask = 2 ** Math.min(32, placementLength(checksum));
  return (payload, offset, length) => {
    if (length < plan.bytesNeeded || plan.pick(payload, offset) >= plan.picks) return Number.NaN;
    const value = evaluate(payload, offset);
    return narrow ? Number(value) % mask : BigInt.asUintN(Number(stored), BigInt(value));
  };
}

export interface ChecksumVerification {
  /** Frames on the checksum's page, long enough, with a table entry for their counter. */
  readonly checked: number;
  readonly passed: number;
  /** Frames that could not be checked: too short, or a counter beyond the tables. */
  readonly unchecked: number;
  /** Frames on another page. */
  readonly otherPage: number;
  /** Rows of the first failures, at most 100. */
  readonly failures: readonly number[];
}

/** Holds one checksum against every frame of a stream; null where the rule cannot be computed. Linear in frames. */
export function verifyChecksum(
  checksum: MapChecksum,
  frame: GuardedFrame,
  stream: Stream,
): ChecksumVerification | null {
  const compute = compileChecksum(checksum, frame);
  if (!compute) return null;
  const applies = compileWhen(checksum.when, frame.selectors);
  const read = compileReader(checksum);
  const failures: number[] = [];
  let [checked, passed, unchecked, otherPage] = [0, 0, 0, 0];
  for (let row = 0; row < stream.count; row++) {
    const offset = row * stream.stride;
    const length = lengthAt(stream, row);
    if (!applies(stream.payload, offset, length)) {
      otherPage++;
      continue;
    }
    const expected = compute(stream.payload, offset, length);
    if (Number.isNaN(expected)) {
      unchecked++;
      continue;
    }
    checked++;
    if (sameValue(expected, read(stream.payload, offset))) passed++;
    else if (failures.length < 100) failures.push(row);
  }
  return { checked, passed, unchecked, otherPage, failures };
}

/** Compares raw values by value, whether number or bigint. */
export function sameValue(a: RawValue, b: RawValue): boolean {
  return typeof a === typeof b ? a === b : BigInt(a) === BigInt(b);
}
