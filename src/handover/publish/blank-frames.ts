/**
 * Writes over the numbers in frames, and keeps what is left true: guards that the map knows are computed anew where they held before; a frame whose
 * guard cannot be computed, or did not hold, is left out, as is one of which the map says nothing: a guard that nobody knows would be wrong.
 */
import { bitPositions } from '../../frames/bits.ts';
import { payloadAt, type FrameTable, type Stream, type StreamKey } from '../../frames/table.ts';
import { coveredBytes } from '../../map/checksum-message.ts';
import { sameValue } from '../../map/checksum.ts';
import { compileEncoder, type CompiledEncoder } from '../../map/encode.ts';
import type { MapChecksum, MapFrame, SignalMap } from '../../map/schema.ts';
import { isTransport } from './messages.ts';
import { frameOfStream } from './readings.ts';
import { streamKeyText, type BlankRule, type MaskedByte } from './types.ts';

const holds = (payload: Uint8Array, bytes: readonly MaskedByte[]): boolean =>
  bytes.every(({ byte, mask, value }) => byte < payload.length && ((payload[byte] as number) & mask) === value);

/** Writes over by all rules that hold of the payload as it came. @returns null where none does, or none changes a bit. */
function blankedBytes(payload: Uint8Array, rules: readonly BlankRule[]): Uint8Array | null {
  const applying = rules.filter((rule) => holds(payload, rule.holds));
  if (applying.length === 0) return null;
  const blanked = payload.slice();
  for (const { writes } of applying)
    for (const { byte, mask, value } of writes)
      if (byte < blanked.length) blanked[byte] = ((blanked[byte] as number) & ~mask) | value;
  return blanked.every((value, byte) => value === payload[byte]) ? null : blanked;
}

export type LeftOutReason = 'not-in-map' | 'guard-unknown' | 'guard-did-not-hold' | 'guard-undetermined';

export type FrameAnswer =
  | { readonly kind: 'same' | 'changed'; readonly payload: Uint8Array }
  | { readonly kind: 'left-out'; readonly reason: LeftOutReason };

/** What becomes of one frame's payload. The payload given is never changed. */
export type FrameBlanker = (payload: Uint8Array) => FrameAnswer;

/** [bytes] bits of the payload on which a checksum depends; all where it does not say. */
function reachOf(checksum: MapChecksum, length: number): Uint8Array {
  const reach = new Uint8Array(length).fill(checksum.covers ? 0 : 255);
  for (const { byte, mask } of coveredBytes(checksum)) if (byte < length) reach[byte]! |= mask;
  for (const place of bitPositions(checksum)) if (place >> 3 < length) reach[place >> 3]! |= 1 << (place & 7);
  return reach;
}

const differ = (one: Uint8Array, other: Uint8Array, mask: Uint8Array): boolean =>
  one.some((value, byte) => ((value ^ (other[byte] as number)) & (mask[byte] ?? 0)) !== 0);

/** Whether the guards that reach what changed can be made anew; null where they can. */
function hindrance({ compiled }: CompiledEncoder, was: Uint8Array, becomes: Uint8Array): LeftOutReason | null {
  for (const { rule, present, raw, compute } of compiled.checksums) {
    if (!present(was, 0, was.length) || !differ(was, becomes, reachOf(rule, was.length))) continue;
    const expected = compute?.(was, 0, was.length);
    if (expected === undefined || Number.isNaN(expected)) return 'guard-unknown';
    if (!sameValue(expected, raw(was, 0))) return 'guard-did-not-hold';
    const isUndetermined = rule.undetermined.some(
      ({ byte, bit }) => ((((was[byte] ?? 0) ^ (becomes[byte] ?? 0)) >> bit) & 1) === 1,
    );
    if (isUndetermined) return 'guard-undetermined';
  }
  return null;
}

/** Of a frame that the map describes. */
export function guardedBlanker(frame: MapFrame, rules: readonly BlankRule[]): FrameBlanker {
  const encoder = compileEncoder(frame);
  return (payload) => {
    const blanked = blankedBytes(payload, rules);
    if (!blanked) return { kind: 'same', payload };
    const reason = hindrance(encoder, payload, blanked);
    if (reason) return { kind: 'left-out', reason };
    if (!encoder.writeChecksums(blanked, 0, blanked.length)) return { kind: 'left-out', reason: 'guard-unknown' };
    return { kind: 'changed', payload: blanked };
  };
}

/** All rules by the stream they are of. */
function rulesByStream(rules: readonly BlankRule[]): ReadonlyMap<string, readonly BlankRule[]> {
  const byStream = new Map<string, BlankRule[]>();
  for (const rule of rules) {
    const key = streamKeyText(rule);
    byStream.set(key, [...(byStream.get(key) ?? []), rule]);
  }
  return byStream;
}

/** The blanker of a stream; null where no rule is of it and its frames stay as they are. */
function blankerOf(
  stream: Stream,
  map: SignalMap,
  rules: ReadonlyMap<string, readonly BlankRule[]>,
): FrameBlanker | null {
  const own = rules.get(streamKeyText(stream));
  if (!own) return null;
  const frame = frameOfStream(map, stream);
  if (frame) return guardedBlanker(frame, own);
  const isFree = isTransport(stream);
  return (payload) => {
    const blanked = blankedBytes(payload, own);
    if (!blanked) return { kind: 'same', payload };
    return isFree ? { kind: 'changed', payload: blanked } : { kind: 'left-out', reason: 'not-in-map' };
  };
}

export interface StreamTally extends StreamKey {
  readonly changed: number;
  readonly leftOut: number;
  readonly reason: LeftOutReason | null;
}

export interface BlankedTable {
  /** The same capture with its numbers written over and frames left out. */
  readonly table: FrameTable;
  readonly tallies: readonly StreamTally[];
}

function blankedStream(stream: Stream, blank: FrameBlanker): { readonly stream: Stream; readonly tally: StreamTally } {
  const { bus, id, extended, direction, stride } = stream;
  const payload = stream.payload.slice();
  const kept: number[] = [];
  let changed = 0;
  let reason: LeftOutReason | null = null;
  for (let row = 0; row < stream.count; row++) {
    const answer = blank(payloadAt(stream, row));
    if (answer.kind === 'left-out') {
      ({ reason } = answer);
      continue;
    }
    kept.push(row);
    if (answer.kind === 'changed') changed++;
    payload.set(answer.payload, row * stride);
  }
  const leftOut = stream.count - kept.length;
  const tally = { bus, id, extended, direction, changed, leftOut, reason };
  if (leftOut === 0) return { stream: { ...stream, payload }, tally };
  const packed = new Uint8Array(kept.length * stride);
  kept.forEach((row, at) => packed.set(payload.subarray(row * stride, (row + 1) * stride), at * stride));
  const taken = {
    ...stream,
    count: kept.length,
    timeUs: Float64Array.from(kept, (row) => stream.timeUs[row] as number),
    arrival: Uint32Array.from(kept, (row) => stream.arrival[row] as number),
    payload: packed,
    lengths: stream.lengths && Uint8Array.from(kept, (row) => stream.lengths?.[row] as number),
    fdFlags: stream.fdFlags && Uint8Array.from(kept, (row) => stream.fdFlags?.[row] as number),
  };
  return { stream: taken, tally };
}

/** Writes over a whole capture. Linear in frames of the streams that rules are of; the others are shared with the table given. */
export function blankTable(table: FrameTable, map: SignalMap, rules: readonly BlankRule[]): BlankedTable {
  const byStream = rulesByStream(rules);
  const tallies: StreamTally[] = [];
  const streams = table.streams.flatMap((stream) => {
    const blank = blankerOf(stream, map, byStream);
    if (!blank) return [stream];
    const made = blankedStream(stream, blank);
    tallies.push(made.tally);
    return made.stream.count > 0 ? [made.stream] : [];
  });
  const frameCount = streams.reduce((sum, { count }) => sum + count, 0);
  return { table: { ...table, streams: streams.map((stream, index) => ({ ...stream, index })), frameCount }, tallies };
}
