/**
 * Identifiers that could be network management: slow, of one length, few different payloads, several of them close together, since each node
 * has an identifier of its own, a common base and its number.
 */
import { lengthAt, type Stream } from '../../frames/table.ts';
import type { SurveyFrame } from '../types.ts';

export interface Candidate {
  /** Place in the table's streams. */
  readonly at: number;
  readonly stream: Stream;
  readonly row: SurveyFrame;
}

const FRAMES_LEAST = 5;
const INTERVAL_LEAST_MS = 40;
const PAYLOADS_MOST = 64;
/** Node numbers are of one byte. */
const NODES_MOST = 256;
const FAMILY_LEAST = 3;

const isCandidate = ({ stream, row }: Candidate): boolean =>
  stream.direction === 'received' &&
  stream.count >= FRAMES_LEAST &&
  stream.length >= 2 &&
  stream.lengths === null &&
  row.copyOf === null &&
  row.timing.kind !== 'reply' &&
  (row.medianIntervalMs ?? 0) >= INTERVAL_LEAST_MS &&
  row.distinctPayloads <= PAYLOADS_MOST;

/** Candidates of one bus, length and block of identifiers. */
export function families(streams: readonly Stream[], rows: readonly SurveyFrame[]): Candidate[][] {
  const found = new Map<string, Candidate[]>();
  for (const [at, stream] of streams.entries()) {
    const candidate = { at, stream, row: rows[at] as SurveyFrame };
    if (!isCandidate(candidate)) continue;
    const block = Math.floor(stream.id / NODES_MOST);
    const key = [stream.bus, stream.extended, stream.length, block].join('/');
    const known = found.get(key);
    if (known) known.push(candidate);
    else found.set(key, [candidate]);
  }
  return [...found.values()].filter((family) => family.length >= FAMILY_LEAST);
}

export const byteAt = ({ payload, stride }: Stream, row: number, byte: number): number =>
  payload[row * stride + byte] as number;

/** The value that a byte has in every frame, or -1. */
export function constantByte(stream: Stream, byte: number): number {
  const value = byteAt(stream, 0, byte);
  for (let row = 1; row < stream.count; row++) {
    if (lengthAt(stream, row) <= byte || byteAt(stream, row, byte) !== value) return -1;
  }
  return value;
}

/** Whether one byte's bits only, of those in a mask, ever change. */
export function changingBits(stream: Stream, byte: number): number {
  const first = byteAt(stream, 0, byte);
  let changing = 0;
  for (let row = 1; row < stream.count; row++) changing |= byteAt(stream, row, byte) ^ first;
  return changing;
}
