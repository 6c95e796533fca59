/**
 * Walks fixtures/captures/<reader>/: every capture is read under its own name and under one that says
 * nothing, whole and in slices of a few bytes, and must give the table and the account in the
 * expectation beside it.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import type { FrameTable } from '../../../src/frames/table.ts';
import { pictureOf, readBytes, reportOf } from './reading.ts';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../../../fixtures/captures');
const CASES = readdirSync(ROOT, { recursive: true, encoding: 'utf8' })
  .filter((path) => path.endsWith('.expect.json'))
  .sort();

interface Expectation {
  readonly reader: string;
  readonly [fact: string]: unknown;
}

function accountOf(table: FrameTable): Expectation {
  const { reader, accepted, rejected, passedOver, rejects, clockEvents, warnings, outOfOrder } = reportOf(table);
  return {
    reader,
    accepted,
    rejected,
    passedOver,
    outOfOrder,
    origin: table.origin,
    rejects: rejects.map(({ line, reason }) => `${line}: ${reason}`),
    clockEvents: clockEvents.map(({ kind, line }) => `${line}: ${kind}`),
    warnings: warnings.map(({ code }) => code),
    remotes: table.remotes.map(({ bus, id, count }) => `${bus} ${id.toString(16)} ${count}`),
    errors: table.errors.map(({ bus, count }) => `${bus} ${count}`),
    frames: pictureOf(table),
  };
}

describe.each(CASES)('%s', (path) => {
  const expected = JSON.parse(readFileSync(join(ROOT, path), 'utf8')) as Expectation;
  const stem = basename(path, '.expect.json');
  const folder = join(ROOT, dirname(path));
  const capture = readdirSync(folder).find(
    (name) => name.startsWith(stem + '.') && !name.endsWith('.expect.json'),
  ) as string;
  const bytes = new Uint8Array(readFileSync(join(folder, capture)));

  it('lies in the folder of its reader', () => {
    expect(dirname(path)).toBe(expected.reader);
  });

  it('is read as expected under its own name', async () => {
    expect(accountOf(await readBytes(bytes, {}, capture))).toEqual(expected);
  });

  it('is read the same under an unknown name, in slices of 7 bytes', async () => {
    expect(accountOf(await readBytes(bytes, { sliceBytes: 7 }, 'unknown'))).toEqual(expected);
  });
});
