/**
 * What a capture showed of each true signal: which of its bits moved. A finder can know no more than that, so spans are
 * scored against the bits that moved, and sign and order only where they could be seen.
 */
import type { QuantityName } from '../../../src/demo/quantities.ts';
import type { TrueField, TrueFrame, Vehicle } from '../../../src/demo/true-frame.ts';
import { bitPositions, type Placement } from '../../../src/frames/bits.ts';
import { findStream, lengthAt, type FrameTable, type Stream } from '../../../src/frames/table.ts';
import { compileFrame } from '../../../src/map/decode.ts';
import type { MapSignal } from '../../../src/map/schema.ts';

export interface ObservedSignal {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  readonly frame: TrueFrame;
  readonly field: TrueField;
  readonly signal: MapSignal;
  /** The physical quantity; null for texts and network bits. */
  readonly quantity: QuantityName | null;
  /** Payload bits (byte * 8 + bit), least significant of the value first, that took both values. */
  readonly moved: readonly number[];
  /** The same without values that stand for "no data". */
  readonly movedValid: readonly number[];
  /** From the lowest to the highest bit that moved, gaps included. */
  readonly span: readonly number[];
  readonly crossesByte: boolean;
  readonly wentNegative: boolean;
  /** Frames that showed it. */
  readonly frames: number;
}

export const keyOf = (frame: Pick<ObservedSignal, 'bus' | 'id' | 'extended'>): string =>
  `${frame.bus} ${frame.id} ${frame.extended}`;

interface Movement {
  readonly ones: Uint8Array;
  readonly zeros: Uint8Array;
}

const movement = (bits: number): Movement => ({ ones: new Uint8Array(bits), zeros: new Uint8Array(bits) });
const movedOf = ({ ones, zeros }: Movement, positions: readonly number[]): number[] =>
  positions.filter((_, index) => ones[index] === 1 && zeros[index] === 1);

function note({ ones, zeros }: Movement, payload: Uint8Array, offset: number, positions: readonly number[]): void {
  positions.forEach((at, index) => {
    const set = ((payload[offset + (at >> 3)] as number) >> (at & 7)) & 1;
    if (set) ones[index] = 1;
    else zeros[index] = 1;
  });
}

function spanOf(positions: readonly number[], moved: readonly number[]): number[] {
  if (moved.length === 0) return [];
  const from = positions.indexOf(moved[0] as number);
  const to = positions.indexOf(moved[moved.length - 1] as number);
  return positions.slice(from, to + 1);
}

function observeFrame(frame: TrueFrame, stream: Stream): ObservedSignal[] {
  const compiled = compileFrame(frame.map);
  return compiled.signals.map((each): ObservedSignal => {
    const { signal } = each;
    const positions = bitPositions(signal as Placement);
    const [all, valid] = [movement(positions.length), movement(positions.length)];
    let [frames, least] = [0, Infinity];
    for (let row = 0; row < stream.count; row++) {
      const offset = row * stream.stride;
      if (!each.present(stream.payload, offset, lengthAt(stream, row))) continue;
      frames++;
      note(all, stream.payload, offset, positions);
      const raw = each.raw(stream.payload, offset);
      if (each.invalidOf(raw) !== null) continue;
      note(valid, stream.payload, offset, positions);
      least = Math.min(least, each.coded(raw));
    }
    const moved = movedOf(all, positions);
    const field = frame.fields.find(({ name }) => name === signal.name) as TrueField;
    return {
      bus: frame.map.bus,
      id: frame.map.id,
      extended: frame.extended,
      frame,
      field,
      signal,
      quantity: field.source.from === 'physics' ? field.source.quantity : null,
      moved,
      movedValid: movedOf(valid, positions),
      span: spanOf(positions, moved),
      crossesByte: new Set(moved.map((at) => at >> 3)).size > 1,
      wentNegative: signal.coding !== 'unsigned' && least < 0,
      frames,
    };
  });
}

/** Every true signal of every received stream, in the map's order; diagnostics left out. Linear in frames and signals. */
export function observeSignals(vehicle: Vehicle, table: FrameTable): ObservedSignal[] {
  return vehicle.frames.flatMap((frame) => {
    if (frame.diagnostic !== null) return [];
    const { id, extended, map } = frame;
    const stream = findStream(table, { bus: map.bus, id, extended, direction: 'received' });
    return stream ? observeFrame(frame, stream) : [];
  });
}
