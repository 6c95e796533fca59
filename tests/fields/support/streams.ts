/**
 * Streams of known truth for testing: layouts drawn from a seed, values moving as physics does (lagged, noisy,
 * refreshed slower than their frame, saturating), encoded with the project's one bit rule.
 */
import type { ByteOrder, Coding, Placement } from '../../../src/frames/bits.ts';
import { bitPositions, writeRaw } from '../../../src/frames/bits.ts';
import type { Stream } from '../../../src/frames/table.ts';
import { createRandom, type Random } from '../../../src/kit/random.ts';

export interface TrueField extends Placement {
  readonly coding: Coding;
  readonly kind: 'number' | 'states' | 'flag';
}

export interface TrueFrame {
  readonly stream: Stream;
  readonly fields: readonly TrueField[];
}

export function makeStream(payload: Uint8Array, length: number, id = 0x123, periodUs = 10_000): Stream {
  const count = payload.length / length;
  return {
    bus: 'can0',
    id,
    extended: id > 0x7ff,
    direction: 'received',
    index: 0,
    count,
    timeUs: Float64Array.from({ length: count }, (_, row) => row * periodUs),
    arrival: Uint32Array.from({ length: count }, (_, row) => row),
    stride: length,
    payload,
    length,
    lengths: null,
    fdFlags: null,
  };
}

/** [count] raw values (may be negative): a lagged walk between set points, with sensor noise. */
export function physicalWalk(random: Random, count: number, low: number, high: number): Float64Array {
  const out = new Float64Array(count);
  const lag = 10 ** random.between(1.2, 2.8);
  const noise = random.next() < 0.4 ? 0 : (high - low) * 10 ** random.between(-4, -2);
  const hold = random.next() < 0.25 ? 2 + random.below(9) : 1;
  let target = random.between(low, high);
  let value = random.next() < 0.5 ? Math.max(low, Math.min(high, 0)) : target;
  for (let row = 0; row < count; row++) {
    if (random.next() < 1 / (lag * 3))
      target = random.next() < 0.2 ? random.pick([low, high, 0]) : random.between(low, high);
    target = Math.max(low, Math.min(high, target));
    value += (target - value) / lag;
    const shown = Math.round(Math.max(low, Math.min(high, value + noise * random.normal())));
    out[row] = row % hold === 0 || row === 0 ? shown : (out[row - 1] as number);
  }
  return out;
}

/** [count] values of a state machine that changes seldom. */
export function stateWalk(random: Random, count: number, states: number): Float64Array {
  const out = new Float64Array(count);
  const changes = 1 / Math.max(20, count / 10 ** random.between(0.4, 1.6));
  let state = random.below(states);
  for (let row = 0; row < count; row++) {
    if (random.next() < changes) state = states === 2 ? 1 - state : (state + 1 + random.below(states - 1)) % states;
    out[row] = state;
  }
  return out;
}

export function writeColumn(payload: Uint8Array, bytes: number, placement: Placement, values: ArrayLike<number>): void {
  const span = 2n ** BigInt(placement.length);
  for (let row = 0; row < values.length; row++) {
    writeRaw(placement, (BigInt(values[row] as number) + span) % span, payload, row * bytes);
  }
}

const LENGTHS = [1, 1, 1, 2, 3, 4, 7, 8, 8, 8, 10, 12, 12, 14, 16, 16, 16, 16, 24];

/** Fields packed one after the other in the bit order of the frame, with a hole here and there. */
export function drawLayout(random: Random, bytes: number, order: ByteOrder): Placement[] {
  const placements: Placement[] = [];
  const total = bytes * 8;
  for (let at = 0; at < total;) {
    if (random.next() < 0.15) at += random.pick([1, 2, 4, 8]);
    const room = total - at;
    const length = Math.min(random.pick(LENGTHS), room);
    if (length <= 0) break;
    const start = length >= 8 && random.next() < 0.6 ? Math.min(Math.ceil(at / 8) * 8, total - length) : at;
    const from = start < at ? at : start;
    if (from + length > total) break;
    placements.push(placeInOrder(from, length, order, bytes));
    at = from + length;
  }
  return placements;
}

function placeInOrder(from: number, length: number, order: ByteOrder, bytes: number): Placement {
  const byte = order === 'little' ? from >> 3 : bytes - 1 - (from >> 3);
  const crosses = (from & 7) + length > 8;
  return { lsb: { byte, bit: from & 7 }, length, order: crosses ? order : 'little' };
}

function fillField(random: Random, placement: Placement, count: number): { values: Float64Array; field: TrueField } {
  const { length } = placement;
  if (length === 1)
    return { values: stateWalk(random, count, 2), field: { ...placement, coding: 'unsigned', kind: 'flag' } };
  if (length <= 4) {
    const states = Math.min(2 ** length, 3 + random.below(4));
    return { values: stateWalk(random, count, states), field: { ...placement, coding: 'unsigned', kind: 'states' } };
  }
  const signed = random.next() < 0.35;
  const full = 2 ** length;
  const used = full * 2 ** -random.between(0, 3);
  const low = signed ? -used / 2 : random.next() < 0.6 ? 0 : random.between(0, full - used);
  const values = physicalWalk(
    random,
    count,
    Math.ceil(low),
    Math.floor(Math.min(low + used, signed ? full / 2 : full) - 1),
  );
  return { values, field: { ...placement, coding: signed ? 'signed' : 'unsigned', kind: 'number' } };
}

/** A frame without guards: fields of one order, drawn from the seed. */
export function drawFrame(seed: number | string, count: number): TrueFrame {
  const random = createRandom(seed);
  const order: ByteOrder = random.next() < 0.5 ? 'little' : 'big';
  const bytes = random.next() < 0.8 ? 8 : 3 + random.below(5);
  const payload = new Uint8Array(count * bytes);
  const fields = drawLayout(random, bytes, order).map((placement) => {
    const { values, field } = fillField(random, placement, count);
    writeColumn(payload, bytes, placement, values);
    return field;
  });
  return { stream: makeStream(payload, bytes, 0x100 + random.below(0x600)), fields };
}

/** The part of a true field that can be seen: from its lowest to its highest bit that moved; null if none did. */
export function observedSpan(field: TrueField, stream: Stream): Placement | null {
  const positions = bitPositions(field);
  const moved = positions.map((position) => {
    const first = bitAt(stream, 0, position);
    for (let row = 1; row < stream.count; row++) if (bitAt(stream, row, position) !== first) return true;
    return false;
  });
  const low = moved.indexOf(true);
  if (low < 0) return null;
  const length = moved.lastIndexOf(true) - low + 1;
  const at = positions[low] as number;
  const end = positions[low + length - 1] as number;
  return { lsb: { byte: at >> 3, bit: at & 7 }, length, order: at >> 3 === end >> 3 ? 'little' : field.order };
}

const bitAt = (stream: Stream, row: number, position: number): number =>
  ((stream.payload[row * stream.stride + (position >> 3)] as number) >> (position & 7)) & 1;

export const placeKey = ({ lsb, length, order }: Placement): string =>
  `${lsb.byte}.${lsb.bit}+${length}${lsb.bit + length > 8 ? order : ''}`;
