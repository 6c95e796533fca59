/**
 * The polls in a published recording of a battery module on the bench, put together whole. It is not part of the project: the test runs where
 * LOOMSCRIBE_REAL_RECORDINGS names the folder that holds it. Counts were made from the file's lines with a text search.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { readCapture } from '../../../src/frames/read-capture.ts';
import { memorySource } from '../../../src/frames/source.ts';
import { findConversations, type Conversation } from '../../../src/reference/diagnostics/exchanges.ts';
import { readingsOf } from '../../../src/reference/diagnostics/readings.ts';

const folder = process.env['LOOMSCRIBE_REAL_RECORDINGS'];

async function conversationsIn(name: string): Promise<readonly Conversation[]> {
  const bytes = new Uint8Array(readFileSync(join(folder as string, name)));
  const outcome = await readCapture([{ source: memorySource(name, bytes) }], {}, {});
  if (!outcome.ok) throw new Error(outcome.problems[0].message);
  return findConversations(outcome.value);
}

describe.skipIf(!folder)('polls in published recordings', () => {
  it('a battery on the bench: each of 600 requests has its answer, 36 of them negative', async () => {
    const [conversation, ...more] = await conversationsIn('battery-bench.csv.gz');
    expect(more).toEqual([]);
    const { exchanges, unasked, requests, answers } = conversation as Conversation;
    expect(requests.map(({ stream, counts }) => [stream.id, counts.single])).toEqual([[0x7e7, 600]]);
    expect(answers.map(({ stream, counts }) => [stream.id, counts.single])).toEqual([[0x7ef, 600]]);
    expect(exchanges.filter(({ kind }) => kind === 'positive')).toHaveLength(564);
    expect(exchanges.filter(({ kind }) => kind === 'negative')).toHaveLength(36);
    expect(unasked).toBe(0);
    const { series, read, ambiguous } = readingsOf(conversation as Conversation);
    expect([series.length, read, ambiguous]).toEqual([16, 564, 0]);
    // Answers by identifier read, ascending; one more identifier was asked for 36 times and refused each time.
    const counts = series.toSorted((a, b) => a.identifier - b.identifier).map(({ readings }) => readings.length);
    expect(counts).toEqual([35, 35, 35, 35, 35, 35, 35, 35, 35, 35, 35, 36, 36, 35, 36, 36]);
  });

  it('a light truck: nobody asks', async () => {
    expect(await conversationsIn('light-truck.csv.gz')).toEqual([]);
  });
});
