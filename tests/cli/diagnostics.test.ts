/** A tester that asks a module over and over while the module broadcasts the same value: what `survey` counts and what `fit` makes of it. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { jsonOf, loomscribe } from '../support/command.ts';

const folder = mkdtempSync(join(tmpdir(), 'loomscribe-diagnostics-'));
const file = join(folder, 'polled.log');
const silent = join(folder, 'silent.log');
afterAll(() => rmSync(folder, { recursive: true }));

const SECONDS = 60;
const hex = (value: number, digits: number): string => value.toString(16).toUpperCase().padStart(digits, '0');
const line = (atS: number, id: string, payload: string): [number, string] => [
  atS,
  `(${(1764064800 + atS).toFixed(6)}) can0 ${id}#${payload}`,
];
/** Of the module, in its own tenths: a slow swing. */
const tenthsAt = (atS: number): number => Math.round(20000 + 9000 * Math.sin(atS / 7) + 2500 * Math.sin(atS / 1.9));

const broadcast = Array.from({ length: SECONDS * 50 }, (_, k) =>
  line(k / 50, '2A0', `00${hex(tenthsAt(k / 50), 4)}${hex(k & 15, 2)}`),
);
const polls = Array.from({ length: SECONDS * 2 }, (_, k) => {
  const atS = k / 2 + 0.003;
  return [
    line(atS, '6A1', '0322400100000000'),
    line(atS + 0.012, '6A9', `05624001${hex(Math.round(tenthsAt(atS + 0.012) / 10), 4)}AAAA`),
    line(atS + 0.1, '6A1', '0322400200000000'),
    line(atS + 0.112, '6A9', '037F2231AAAAAAAA'),
  ];
}).flat();
const textOf = (lines: readonly [number, string][]): string =>
  [...lines]
    .sort((a, b) => a[0] - b[0])
    .map(([, text]) => text)
    .join('\n');
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

  it('fit says what is missing where nobody asks and no reference is given', async () => {
    const { code, err } = await loomscribe(['fit', silent]);
    expect(code).toBe(1);
    expect(err).toContain('no answers to a tester');
    expect(err).toContain('--reference FILE');
  });
});
