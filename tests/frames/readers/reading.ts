/** Reads bytes as a capture in tests, holding every table against the invariant checker. */
import { expect } from 'vitest';
import { checkTable } from '../../../src/frames/check-table.ts';
import { readCapture } from '../../../src/frames/read-capture.ts';
import type { ReadOptions } from '../../../src/frames/reading-types.ts';
import { memorySource } from '../../../src/frames/source.ts';
import type { FileReport, FrameTable } from '../../../src/frames/table.ts';
import { tableToText } from '../../../src/frames/table-text.ts';
import type { Outcome } from '../../../src/kit/outcome.ts';

export type Input = string | Uint8Array;

const bytesOf = (input: Input): Uint8Array => (typeof input === 'string' ? new TextEncoder().encode(input) : input);

export async function tryReading(
  input: Input,
  options: ReadOptions = {},
  name = 'drive',
): Promise<Outcome<FrameTable>> {
  const outcome = await readCapture([{ source: memorySource(name, bytesOf(input)) }], options, {});
  if (outcome.ok) expect(checkTable(outcome.value)).toEqual([]);
  return outcome;
}

export async function readBytes(input: Input, options: ReadOptions = {}, name = 'drive'): Promise<FrameTable> {
  const outcome = await tryReading(input, options, name);
  if (!outcome.ok) throw new Error(outcome.problems.map(({ message }) => message).join('; '));
  return outcome.value;
}

export const reportOf = (table: FrameTable): FileReport => table.files[0] as FileReport;

export const pictureOf = (table: FrameTable): string[] => tableToText(table).trimEnd().split('\n');
