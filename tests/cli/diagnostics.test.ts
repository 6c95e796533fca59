/** A tester that asks a module over and over while the module broadcasts the same value: what `survey` counts and what `fit` makes of it. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import type { LinkReport } from '../../src/actions/types.ts';
import type { SignalMap } from '../../src/map/schema.ts';
import { jsonOf, loomscribe } from '../support/command.ts';
import { broadcast, polls, textOf } from '../support/polled-log.ts';

const folder = mkdtempSync(join(tmpdir(), 'loomscribe-diagnostics-'));
const file = join(folder, 'polled.log');
const silent = join(folder, 'silent.log');
afterAll(() => rmSync(folder, { recursive: true }));

writeFileSync(file, textOf([...broadcast, ...polls]));
writeFileSync(silent, textOf(broadcast));

describe('a capture with a tester in it', () => {
  it('survey counts requests and answers', async () => {
    const { diagnostics } = (await jsonOf(['survey', file, '--json'])) as { diagnostics: { conversations: object[] } };
    expect(diagnostics.conversations).toHaveLength(1);
    expect(diagnostics.conversations[0]).toMatchObject({
      positive: 120,
      negative: 120,
      unanswered: 0,
      negatives: [{ service: 0x22, code: 0x31, count: 120 }],
      identifiers: [{ name: '0x6A9 22 4001', n: 120, bytes: [2] }],
    });
    const { out } = await loomscribe(['survey', file]);
    expect(out).toContain('0x6A1 asks, 0x6A9 answers; 240 requests: 120 answered, 120 refused');
  });

  it('fit takes the answers for a reference, and looks for it in broadcasts only', async () => {
    const { quantities } = (await jsonOf(['fit', file, '--json'])) as {
      quantities: { name: string; fits: { id: string; scale: number; lsb: object; length: number; order: string }[] }[];
    };
    expect(quantities.map(({ name }) => name)).toEqual(['0x6A9 22 4001']);
    const [first] = quantities[0]?.fits ?? [];
    expect(first).toMatchObject({ id: '0x2A0', lsb: { byte: 2, bit: 0 }, order: 'big' });
    expect(Math.abs((first?.scale ?? 0) - 0.1)).toBeLessThan(0.001);
    expect(quantities[0]?.fits.some(({ id }) => id === '0x6A9')).toBe(false);
  });

  it('fields proposes no structure for questions and answers, and says why', async () => {
    const { frames } = (await jsonOf(['fields', file, '--json'])) as { frames: SignalMap['frames'] };
    const items = ({ counters, checksums, selectors, signals }: SignalMap['frames'][number]): number =>
      counters.length + checksums.length + selectors.length + signals.length;
    for (const id of ['0x6A1', '0x6A9']) expect(items(frames.find((frame) => frame.id === id)!)).toBe(0);
    expect(items(frames.find(({ id }) => id === '0x2A0')!)).toBeGreaterThan(0);
    const { out } = await loomscribe(['fields', file]);
    expect(out).toMatch(/0x6A9: .*\n {2}A tester’s questions, or the answers to them/);
  });

  it('draft lists the frames of questions and answers, and takes none of their bytes for a signal or a guard', async () => {
    const map = join(folder, 'polled.map.json');
    expect((await loomscribe(['draft', file, '-o', map])).code).toBe(0);
    const { frames } = JSON.parse(readFileSync(map, 'utf8')) as SignalMap;
    const asked = frames.filter(({ id }) => ['0x6A1', '0x6A9'].includes(id));
    expect(asked).toHaveLength(2);
    for (const frame of asked)
      expect(frame).toMatchObject({
        role: 'other',
        signals: [],
        counters: [],
        checksums: [],
        selectors: [],
        unclaimed: [],
      });
    expect(frames.find(({ id }) => id === '0x2A0')?.signals.length).toBeGreaterThan(0);
  });

  it('link looks for answers to an action in broadcasts only', async () => {
    const marks = join(folder, 'marks.csv');
    writeFileSync(marks, ['start,end,action', ...[5, 11, 17, 23].map((at) => `${at},${at + 1},pressed`)].join('\n'));
    const report = (await jsonOf(['link', file, '--marks', marks, '--all', '--json'])) as LinkReport;
    const ids = report.actions.flatMap(({ links }) => links.map(({ id }) => id));
    expect(ids).toContain('0x2A0');
    expect(ids).not.toContain('0x6A9');
    expect(ids).not.toContain('0x6A1');
  });

  it('fit says what is missing where nobody asks and no reference is given', async () => {
    const { code, err } = await loomscribe(['fit', silent]);
    expect(code).toBe(1);
    expect(err).toContain('no answers to a tester');
    expect(err).toContain('--reference FILE');
  });
});
