/**
 * One field over time: the coded values of the frames in which it is present (its page on, its value not one
 * of those that mean "no data"), with their stamps. What every comparison with the outside world starts from.
 */
import { bytesNeeded, placementLength, type Coding, type Placement } from '../frames/bits.ts';
import { lengthAt, type Stream } from '../frames/table.ts';
import { compileCoding } from './coding.ts';
import { compileWhen } from './pages.ts';
import { bigOf, compileReader } from './raw-values.ts';
import type { MapSelector, MapSignal, When } from './schema.ts';

export interface FieldSeries {
  /** [n] microseconds since the capture's origin, ascending. */
  readonly timeUs: Float64Array;
  /** [n] coded values, before scale and offset; never NaN. */
  readonly value: Float64Array;
}

export interface FieldPlace extends Placement {
  readonly coding: Coding;
  readonly when: When;
  readonly invalid?: MapSignal['invalid'];
}

/** Cost: one read a frame. Empty for text. */
export function fieldSeries(stream: Stream, field: FieldPlace, selectors: readonly MapSelector[]): FieldSeries {
  const present = compileWhen(field.when, selectors);
  const read = compileReader(field);
  const bits = placementLength(field);
  const decode = compileCoding(field.coding, bits);
  const needed = bytesNeeded(field);
  const invalid = (field.invalid ?? []).map(({ from, to }) => [Number(bigOf(from)), Number(bigOf(to))] as const);
  const timeUs = new Float64Array(stream.count);
  const value = new Float64Array(stream.count);
  let n = 0;
  for (let row = 0; row < stream.count; row++) {
    const length = lengthAt(stream, row);
    const at = row * stream.stride;
    if (length < needed || !present(stream.payload, at, length)) continue;
    const raw = read(stream.payload, at);
    const coded = decode(raw);
    if (!Number.isFinite(coded)) continue;
    if (invalid.length > 0 && invalid.some(([from, to]) => Number(raw) >= from && Number(raw) <= to)) continue;
    timeUs[n] = stream.timeUs[row] as number;
    value[n++] = coded;
  }
  return { timeUs: timeUs.subarray(0, n), value: value.subarray(0, n) };
}
