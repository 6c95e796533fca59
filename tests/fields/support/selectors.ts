/** Payloads of eight bytes made row by row, and the selectors that are found in them. */
import { UNBIASED } from '../../../src/fields/divide.ts';
import { movedMask, rowsOfStream } from '../../../src/fields/payload-rows.ts';
import type { CounterBits } from '../../../src/fields/selector-candidates.ts';
import { findSelectors } from '../../../src/fields/selectors.ts';
import { runThrough } from '../../../src/fields/steps.ts';
import type { Stream } from '../../../src/frames/table.ts';
import { makeStream } from './streams.ts';

export type Fill = (row: number) => readonly number[];

const BYTES = 8;

export function streamOf(count: number, fill: Fill): Stream {
  const payload = new Uint8Array(count * BYTES);
  for (let row = 0; row < count; row++) payload.set(fill(row), row * BYTES);
  return makeStream(payload, BYTES);
}

/** "first bit+length", and on which values of the outer one. */
export function selectorsIn(stream: Stream, isGuarded: boolean, counters: readonly CounterBits[] = []): string[] {
  const rows = rowsOfStream(stream);
  const asked = { usable: new Uint8Array(BYTES).fill(255), options: { decisions: [], orderBits: UNBIASED } };
  return runThrough(findSelectors(rows, movedMask(rows), counters, isGuarded, asked)).map(
    ({ lsb, length, on }) => `${lsb.byte * 8 + lsb.bit}+${length}${on[0] ? ` on ${on[0].values.join()}` : ''}`,
  );
}
