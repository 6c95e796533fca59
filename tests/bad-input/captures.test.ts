/**
 * Walks fixtures/bad-input/captures/: broken recordings, each with what is expected of it in
 * expected.json: the account of its lines with the first reasons, or the problem that a person is told.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { reportOf, tryReading } from '../frames/readers/reading.ts';

const FOLDER = join(dirname(fileURLToPath(import.meta.url)), '../../fixtures/bad-input/captures');
const EXPECTED = JSON.parse(readFileSync(join(FOLDER, 'expected.json'), 'utf8')) as Record<string, unknown>;
const REASONS_COMPARED = 20;

async function accountOf(file: string): Promise<unknown> {
  const outcome = await tryReading(new Uint8Array(readFileSync(join(FOLDER, file))), {}, file);
  if (!outcome.ok) {
    const [{ code, message, advice, place }] = outcome.problems;
    expect(place?.file).toBe(file);
    return { problem: code, message, advice };
  }
  const { reader, accepted, rejected, passedOver, rejects, warnings } = reportOf(outcome.value);
  return {
    reader,
    accepted,
    rejected,
    passedOver,
    rejects: rejects.slice(0, REASONS_COMPARED).map(({ line, reason }) => `${line}: ${reason}`),
    warnings: warnings.map(({ code }) => code),
  };
}

describe('broken recordings', () => {
  it('are all expected, and nothing else is', () => {
    const files = readdirSync(FOLDER).filter((name) => name !== 'expected.json');
    expect(files.sort()).toEqual(Object.keys(EXPECTED).sort());
  });

  it.each(Object.keys(EXPECTED))('%s', async (file) => {
    expect(await accountOf(file)).toEqual(EXPECTED[file]);
  });

  it('keep the first hundred rejects with their text, and count them all', async () => {
    const outcome = await tryReading(new Uint8Array(readFileSync(join(FOLDER, 'hundreds-of-rejects.log'))));
    const report = outcome.ok ? reportOf(outcome.value) : null;
    expect(report?.rejects).toHaveLength(100);
    expect(report?.rejects[0]).toMatchObject({ line: 2, text: '(1.000000) can0 100#xyz' });
    expect(report?.rejectReasons.map(({ count }) => count)).toEqual([166, 84]);
  });

  it.each([8 << 20, 1000, 65_536])('count a line that hardly ends once, in slices of %i bytes', async (sliceBytes) => {
    const text = `(1.000000) can0 100#01\n${'A'.repeat(200_000)}\n(1.010000) can0 100#02\n`;
    const outcome = await tryReading(text, { sliceBytes });
    const report = outcome.ok ? reportOf(outcome.value) : null;
    expect(report).toMatchObject({ accepted: 2, rejected: 1 });
    expect(report?.rejects[0]?.text).toHaveLength(200);
  });
});
