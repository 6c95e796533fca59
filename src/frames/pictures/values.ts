/**
 * A field's value row by row: the bit rule, the condition that selects its page, ranges that are no values, coding, then
 * scale and offset or a table. One place decides when a row has no value.
 */
import {
  bitPositions,
  bytesNeeded,
  codedValue,
  placementLength,
  rawReader,
  readRawBig,
  type RawReader,
} from '../bits.ts';
import type { Coding, Placement } from '../bits.ts';
import { lengthAt, type Stream } from '../table.ts';
import type { TraceRequest } from './types.ts';

/** The value of a row; NaN where it has none. */
type RowValue = (row: number) => number;

export interface FieldReader {
  /** Whether the row carries the field: long enough, and the condition holds. */
  readonly carries: (row: number) => boolean;
  /** Physical value; NaN where the row does not carry the field or carries no value. */
  readonly value: RowValue;
}

const doubleView = new DataView(new ArrayBuffer(8));

/** Fields of more than 53 bits: unsigned and signed ones lose their lowest bits, which no picture shows. */
function wideReader(placement: Placement, coding: Coding, length: number): RawReader {
  return (payload, offset) => {
    const raw = readRawBig(placement, payload, offset);
    if (coding === 'float' && length === 64) {
      doubleView.setBigUint64(0, raw);
      return doubleView.getFloat64(0);
    }
    return Number(coding === 'signed' ? BigInt.asIntN(length, raw) : raw);
  };
}

/** Linear between the table's points and along its end pieces beyond them. */
export function throughTable(table: readonly (readonly [number, number])[], raw: number): number {
  const n = table.length;
  if (n === 0 || Number.isNaN(raw)) return Number.NaN;
  if (n === 1) return (table[0] as readonly [number, number])[1];
  let high = 1;
  while (high < n - 1 && (table[high] as readonly [number, number])[0] < raw) high++;
  const [x0, y0] = table[high - 1] as readonly [number, number];
  const [x1, y1] = table[high] as readonly [number, number];
  return y0 + ((raw - x0) / (x1 - x0)) * (y1 - y0);
}

/** `codedValue` with what depends on the length alone worked out once: powers are dear in a loop over all rows. */
function decoder(coding: Coding, length: number): (raw: number) => number {
  const half = 2 ** (length - 1);
  if (coding === 'unsigned') return (raw) => raw;
  if (coding === 'signed') return (raw) => (raw >= half ? raw - 2 * half : raw);
  if (coding === 'sign-magnitude') return (raw) => (raw >= half ? half - raw : raw);
  return (raw) => codedValue(raw, coding, length);
}

function codedReader(placement: Placement, coding: Coding, invalid: TraceRequest['invalid']): RawReader {
  const length = placementLength(placement);
  if (coding === 'text') return () => Number.NaN;
  if (length > 53) return wideReader(placement, coding, length);
  const raw = rawReader(placement);
  const decode = decoder(coding, length);
  const ranges = invalid ?? [];
  if (ranges.length === 0) return (payload, offset) => decode(raw(payload, offset));
  const isInvalid = (value: number): boolean => ranges.some(({ from, to }) => value >= from && value <= to);
  return (payload, offset) => {
    const value = raw(payload, offset);
    return isInvalid(value) ? Number.NaN : decode(value);
  };
}

function conditionReader(stream: Stream, request: TraceRequest): ((row: number) => boolean) | null {
  const tests = Object.entries(request.when ?? {}).map(([name, values]) => {
    const selector = request.selectors?.find((candidate) => candidate.name === name);
    if (!selector) return () => false;
    const wanted = new Set(values);
    const raw = rawReader(selector);
    const needed = bytesNeeded(selector);
    return (row: number) => lengthAt(stream, row) >= needed && wanted.has(raw(stream.payload, row * stream.stride));
  });
  return tests.length === 0 ? null : (row) => tests.every((holds) => holds(row));
}

function fitsStream(stream: Stream, request: TraceRequest): boolean {
  const bits = stream.stride * 8;
  const within = (placement: Placement): boolean => bitPositions(placement).every((bit) => bit >= 0 && bit < bits);
  const named = (request.selectors ?? []).filter(({ name }) => request.when && name in request.when);
  return within(request.placement) && named.every(within);
}

/** A field that does not fit the stream's payload is carried by no row. */
export function fieldReader(stream: Stream, request: TraceRequest): FieldReader {
  if (!fitsStream(stream, request)) return { carries: () => false, value: () => Number.NaN };
  const needed = bytesNeeded(request.placement);
  const condition = conditionReader(stream, request);
  const { payload, stride, lengths } = stream;
  const always = condition === null && (lengths ? false : stream.length >= needed);
  const carries = always
    ? () => true
    : (row: number) => lengthAt(stream, row) >= needed && (condition === null || condition(row));
  const coded = codedReader(request.placement, request.coding, request.invalid);
  const { scale = 1, offset = 0, table } = request;
  const physical = table ? (raw: number) => throughTable(table, raw) : (raw: number) => raw * scale + offset;
  return {
    carries,
    value: (row) => (carries(row) ? physical(coded(payload, row * stride)) : Number.NaN),
  };
}
