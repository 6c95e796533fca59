/** The values of one signal over a capture, without those that mean "no data", and how they move from frame to frame. */
import { bitPositions, type Placement } from '../../frames/bits.ts';
import { lengthAt, type Stream } from '../../frames/table.ts';
import type { CompiledSignal } from '../../map/decode.ts';
import { bigOf, type RawValue } from '../../map/raw-values.ts';

export interface SignalValues {
  /** [n] rows of the stream. */
  readonly rows: readonly number[];
  readonly raws: readonly RawValue[];
  /** Values left out because the map says that they are none. */
  readonly noData: number;
  /** Of `rows`: values that its coding cannot read, such as a decimal digit above 9. */
  readonly unreadable: readonly number[];
  /** How often a value differs from the one before. */
  readonly changes: number;
  readonly distinct: number;
}

function declaredNone({ signal }: CompiledSignal): (raw: RawValue) => boolean {
  const ranges = signal.invalid.map(({ from, to }) => [bigOf(from), bigOf(to)] as const);
  if (ranges.length === 0) return () => false;
  return (raw) => ranges.some(([from, to]) => BigInt(raw) >= from && BigInt(raw) <= to);
}

/** Linear in the frames. */
export function signalValues(compiled: CompiledSignal, stream: Stream): SignalValues {
  const isNone = declaredNone(compiled);
  const rows: number[] = [];
  const raws: RawValue[] = [];
  const unreadable: number[] = [];
  const seen = new Set<RawValue>();
  let [noData, changes] = [0, 0];
  for (let row = 0; row < stream.count; row++) {
    const offset = row * stream.stride;
    if (!compiled.present(stream.payload, offset, lengthAt(stream, row))) continue;
    const raw = compiled.raw(stream.payload, offset);
    if (isNone(raw)) {
      noData++;
      continue;
    }
    if (compiled.invalidOf(raw) !== null) {
      unreadable.push(row);
      continue;
    }
    if (raws.length > 0 && raw !== raws[raws.length - 1]) changes++;
    seen.add(raw);
    rows.push(row);
    raws.push(raw);
  }
  return { rows, raws, noData, unreadable, changes, distinct: seen.size };
}

/** One reading of the payload on some rows: bit positions, least significant first. At most 48 bits, so that numbers hold it. */
export const READABLE_BITS = 48;

export function readBits(stream: Stream, rows: readonly number[], bits: readonly number[]): Float64Array {
  const parts = bits.map((at, rank) => ({ byte: at >> 3, shift: at & 7, weight: 2 ** rank }));
  return Float64Array.from(rows, (row) => {
    const at = row * stream.stride;
    let value = 0;
    for (const { byte, shift, weight } of parts)
      if (((stream.payload[at + byte] as number) >> shift) & 1) value += weight;
    return value;
  });
}

export const bitsOf = ({ signal }: CompiledSignal): number[] => bitPositions(signal as Placement);
