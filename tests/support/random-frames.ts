/**
 * Random frame layouts for property tests: fields of every coding, order and width, split ones, pages, a counter,
 * checksums of every method. Bits are given out once, so that nothing overlaps on a page.
 */
import type { Random } from '../../src/kit/random.ts';
import type { MapChecksum, MapCounter, MapFrame, MapSignal } from '../../src/map/schema.ts';
import { aChecksum, aCounter, aFrame, aSelector, aSignal } from './map-parts.ts';

type PlacedPiece = {
  lsb: { byte: number; bit: number };
  length: number;
  order: 'little' | 'big';
};

const FD_LENGTHS = [12, 16, 20, 24, 32, 48, 64];

/** Walks a piece's bits by the contract's words; null where it runs off the payload or onto taken bits. */
function walk(piece: PlacedPiece, bytes: number, taken: ReadonlySet<number>): number[] | null {
  const bits: number[] = [];
  let { byte, bit } = piece.lsb;
  for (let i = 0; i < piece.length; i++) {
    if (byte < 0 || byte >= bytes || taken.has(byte * 8 + bit)) return null;
    bits.push(byte * 8 + bit);
    if (++bit === 8) {
      bit = 0;
      byte += piece.order === 'little' ? 1 : -1;
    }
  }
  return bits;
}

function claimPiece(random: Random, length: number, bytes: number, taken: Set<number>): PlacedPiece | null {
  for (let attempt = 0; attempt < 60; attempt++) {
    const lsb = { byte: random.below(bytes), bit: random.below(8) };
    const piece: PlacedPiece = { lsb, length, order: random.next() < 0.5 ? 'little' : 'big' };
    if (lsb.bit + length <= 8) piece.order = 'little';
    const bits = walk(piece, bytes, taken);
    if (!bits) continue;
    for (const bit of bits) taken.add(bit);
    return piece;
  }
  return null;
}

type Placed = PlacedPiece & { continues?: PlacedPiece[] };

function claimField(random: Random, length: number, bytes: number, taken: Set<number>): Placed | null {
  const split = length >= 4 && random.next() < 0.25 ? 1 + random.below(length - 2) : 0;
  const first = claimPiece(random, length - split, bytes, taken);
  if (!first || !split) return first;
  const second = claimPiece(random, split, bytes, taken);
  return second && { ...first, continues: [second] };
}

function randomScale(random: Random): number {
  return random.pick([1, 1, 0.5, 0.1, 0.25, 0.01, -0.5, 2, 100 / 255, 0.0625, -3]);
}

export interface RandomFrameOptions {
  /** Leaves out what C encoders refuse or express otherwise. Default everything. */
  readonly codings?: readonly MapSignal['coding'][];
  readonly fd?: boolean;
  readonly pages?: boolean;
}

const CODINGS: readonly MapSignal['coding'][] = ['unsigned', 'signed', 'sign-magnitude', 'float', 'bcd', 'text'];

function signalLength(random: Random, coding: MapSignal['coding']): number {
  if (coding === 'float') return random.pick([32, 64]);
  if (coding === 'text') return 8 * (1 + random.below(9));
  if (coding === 'bcd') return 4 * (1 + random.below(6));
  return random.next() < 0.06 ? 54 + random.below(11) : 1 + random.below(random.pick([4, 10, 18, 40]));
}

function randomSignal(random: Random, index: number, bytes: number, taken: Set<number>, options: RandomFrameOptions) {
  const coding = random.pick(options.codings ?? CODINGS);
  const length = signalLength(random, coding);
  if (coding === 'sign-magnitude' && length === 1) return null;
  const placed = claimField(random, length, bytes, taken);
  if (!placed) return null;
  const plain = coding === 'text' || coding === 'float' || length > 40;
  const tabled = coding === 'unsigned' && length >= 4 && length <= 12 && random.next() < 0.2;
  const top = 2 ** length - 1;
  return aSignal({
    name: `sig_${index}`,
    ...placed,
    coding,
    kind: coding === 'text' ? 'text' : 'number',
    scale: plain ? 1 : randomScale(random),
    offset: plain ? 0 : random.pick([0, 0, -40, 12.5, 1000]),
    table: tabled
      ? [
          [0, 150],
          [Math.floor(top / 3), 60.5],
          [top, -40],
        ]
      : null,
    states: length <= 4 && coding === 'unsigned' ? { '0': 'off', '1': 'on' } : {},
    invalid:
      coding === 'unsigned' && length >= 6 && length <= 40 && random.next() < 0.3
        ? [{ from: top - 1, to: top, meaning: 'no data' }]
        : [],
  });
}

function randomChecksum(
  random: Random,
  bytes: number,
  taken: Set<number>,
  counter: MapCounter | null,
): MapChecksum | null {
  const method = random.pick(['crc', 'crc', 'sum', 'xor', 'copy'] as const);
  const width = method === 'crc' ? random.pick([4, 8, 8, 15, 16, 32]) : random.pick([4, 8, 8, 16]);
  const placed = claimField(random, width, bytes, taken);
  if (!placed) return null;
  const hex = (bits: number): string =>
    '0x' +
    random
      .below(2 ** bits)
      .toString(16)
      .toUpperCase();
  const covers = Array.from({ length: bytes }, (_, byte) =>
    random.next() < 0.15 ? { byte, mask: '0x' + random.below(256).toString(16).toUpperCase() } : byte,
  ).filter(() => random.next() < 0.9);
  const tables = counter && random.next() < 0.3;
  const list = Array.from({ length: 16 }, () => [hex(8)]);
  return aChecksum({
    ...placed,
    method,
    width,
    covers: covers.length > 0 ? covers : [0],
    ...(method === 'crc' ? { poly: '0x' + (random.below(2 ** (width - 1)) * 2 + 1).toString(16).toUpperCase() } : {}),
    init: hex(method === 'copy' ? 1 : Math.min(width, 31)),
    xorout: hex(Math.min(width, 31)),
    refin: random.next() < 0.5,
    refout: random.next() < 0.5,
    prefix: random.next() < 0.3 ? [hex(8), hex(8)] : [],
    suffix: random.next() < 0.3 ? [hex(8)] : [],
    ...(tables ? { [random.pick(['prefixByCounter', 'suffixByCounter'])]: list } : {}),
    ...(method === 'sum' && random.next() < 0.3 ? { carry: 'end-around' as const } : {}),
    ...(random.next() < 0.25 ? { unit: random.pick(['nibble', 'word16le', 'word16be'] as const) } : {}),
  });
}

/** A layout drawn from a seed; every bit belongs to at most one item, pages excepted. */
export function randomFrame(random: Random, options: RandomFrameOptions = {}): MapFrame {
  const fd = options.fd ?? random.next() < 0.3;
  const bytes = fd ? random.pick(FD_LENGTHS) : 1 + random.below(8);
  const taken = new Set<number>();
  const counterField = bytes >= 2 && random.next() < 0.6 ? claimPiece(random, 4, bytes, taken) : null;
  const counter = counterField && aCounter({ ...counterField, max: random.pick([14, 15]) });
  const checksum = bytes >= 3 && random.next() < 0.6 ? randomChecksum(random, bytes, taken, counter) : null;
  const paged = (options.pages ?? true) && bytes >= 4 && random.next() < 0.4;
  const selectorField = paged ? claimPiece(random, 2, bytes, taken) : null;
  const signals: MapSignal[] = [];
  const shared = new Set(taken);
  const count = 1 + random.below(Math.min(24, bytes * 2));
  for (let i = 0; i < count; i++) {
    const signal = randomSignal(random, i, bytes, shared, options);
    if (signal) signals.push(signal);
  }
  if (selectorField) addPages(random, signals, bytes, shared, options);
  return aFrame({
    length: bytes,
    fd,
    name: 'drawn',
    counters: counter ? [counter] : [],
    checksums: checksum ? [checksum] : [],
    selectors: selectorField ? [aSelector(selectorField)] : [],
    signals,
  });
}

/** Two pages that use the same free bits for different things. */
function addPages(
  random: Random,
  signals: MapSignal[],
  bytes: number,
  taken: Set<number>,
  options: RandomFrameOptions,
): void {
  for (const page of [0, 1, 2]) {
    const free = new Set(taken);
    for (let i = 0; i < 3; i++) {
      const signal = randomSignal(random, 100 + page * 10 + i, bytes, free, options);
      if (signal) signals.push({ ...signal, when: { page: page === 2 ? [2, 3] : [page] } });
    }
  }
}

/** Random bytes; mostly spread over all values, sometimes all ones or zeros. */
export function randomPayload(random: Random, bytes: number): Uint8Array {
  const fill = random.next();
  if (fill < 0.05) return new Uint8Array(bytes);
  if (fill < 0.1) return new Uint8Array(bytes).fill(0xff);
  return Uint8Array.from({ length: bytes }, () => random.below(256));
}
