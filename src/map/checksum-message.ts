/**
 * What a checksum is computed over: constant prefix, prefix by counter, covered bytes, suffix, suffix by
 * counter, in that order, with the checksum's own bits taken as zero. Compiled once for a frame.
 */
import { bitPositions, bytesNeeded } from '../frames/bits.ts';
import { compileReader, maskInByte } from './raw-values.ts';
import type { MapChecksum, MapFrame } from './schema.ts';

export interface CoveredByte {
  readonly byte: number;
  /** Bits of the byte that count; the checksum's own are already taken out. */
  readonly mask: number;
}

/** The covered bytes in their order, each with the mask of bits that count. */
export function coveredBytes(checksum: MapChecksum): CoveredByte[] {
  const own = bitPositions(checksum);
  return (checksum.covers ?? []).map((entry) => {
    const byte = typeof entry === 'number' ? entry : entry.byte;
    const mask = typeof entry === 'number' ? 0xff : Number(entry.mask) & 0xff;
    return { byte, mask: mask & ~maskInByte(own, byte) };
  });
}

const bytesOfList = (list: readonly string[] | undefined): number[] => (list ?? []).map((byte) => Number(byte) & 0xff);

export interface MessagePlan {
  readonly covered: readonly CoveredByte[];
  readonly prefix: readonly number[];
  readonly suffix: readonly number[];
  readonly prefixByCounter: readonly (readonly number[])[] | null;
  readonly suffixByCounter: readonly (readonly number[])[] | null;
  /** Least payload length that holds the checksum, what it covers and the counter its tables need. */
  readonly bytesNeeded: number;
  /** The counter value that picks from the tables; 0 where there are none. */
  readonly pick: (payload: Uint8Array, offset: number) => number;
  /** Table entries; a counter value beyond them has no checksum. Infinity where there are no tables. */
  readonly picks: number;
}

/** Null where the rule has tables by counter and the frame no counter. */
export function planMessage(checksum: MapChecksum, frame: Pick<MapFrame, 'counters'>): MessagePlan | null {
  const tables = [checksum.prefixByCounter, checksum.suffixByCounter].filter((table) => table !== undefined);
  const used = tables.filter((table) => table.length > 0);
  const counter = frame.counters[0];
  if (used.length > 0 && !counter) return null;
  const covered = coveredBytes(checksum);
  const needsCounter = used.length > 0 && counter;
  const read = needsCounter ? compileReader(counter) : null;
  return {
    covered,
    prefix: bytesOfList(checksum.prefix),
    suffix: bytesOfList(checksum.suffix),
    prefixByCounter: checksum.prefixByCounter?.length ? checksum.prefixByCounter.map(bytesOfList) : null,
    suffixByCounter: checksum.suffixByCounter?.length ? checksum.suffixByCounter.map(bytesOfList) : null,
    bytesNeeded: Math.max(
      bytesNeeded(checksum),
      needsCounter ? bytesNeeded(counter) : 0,
      ...covered.map(({ byte }) => byte + 1),
    ),
    pick: read ? (payload, offset) => Number(read(payload, offset)) : () => 0,
    picks: Math.min(Infinity, ...used.map((table) => table.length)),
  };
}

/** The whole message for one payload, for rules that are not worth a fast path. */
export function messageBytes(plan: MessagePlan, payload: Uint8Array, offset: number): number[] {
  const at = plan.pick(payload, offset);
  return [
    ...plan.prefix,
    ...(plan.prefixByCounter?.[at] ?? []),
    ...plan.covered.map(({ byte, mask }) => (payload[offset + byte] as number) & mask),
    ...plan.suffix,
    ...(plan.suffixByCounter?.[at] ?? []),
  ];
}

export type ChecksumUnit = NonNullable<MapChecksum['unit']>;
export const UNIT_BITS: Readonly<Record<ChecksumUnit, number>> = { byte: 8, nibble: 4, word16le: 16, word16be: 16 };

/** Bytes as units: a byte's high nibble first; a last odd byte of 16-bit words is paired with zero. */
export function unitsOf(bytes: readonly number[], unit: ChecksumUnit): number[] {
  switch (unit) {
    case 'byte':
      return [...bytes];
    case 'nibble':
      return bytes.flatMap((byte) => [byte >> 4, byte & 0xf]);
    case 'word16le':
    case 'word16be': {
      const words: number[] = [];
      for (let i = 0; i < bytes.length; i += 2) {
        const [first, second] = [bytes[i] as number, bytes[i + 1] ?? 0];
        words.push(unit === 'word16le' ? first | (second << 8) : (first << 8) | second);
      }
      return words;
    }
  }
}
