import { describe, expect, it } from 'vitest';
import { previewColumns } from '../../../src/frames/column-preview.ts';
import { memorySource } from '../../../src/frames/source.ts';
import { pictureOf, readBytes } from './reading.ts';

const TABLE = [
  'stamp;who;what;n',
  ...Array.from({ length: 40 }, (_each, i) => `${i * 10};${i % 2 ? '1A0' : '2B4'};00 FF ${(16 + i).toString(16)};3`),
].join('\n');
const source = memorySource('bench.txt', new TextEncoder().encode(TABLE));

async function preview(columns?: string) {
  const outcome = await previewColumns(source, columns === undefined ? {} : { columns });
  if (!outcome.ok) throw new Error(outcome.problems[0].message);
  return outcome.value;
}

describe('the preview of columns', () => {
  it('shows headings, cells and what each column is taken for', async () => {
    const { columns, rows, delimiter, skip, missing } = await preview();
    expect({ delimiter, skip, missing }).toEqual({ delimiter: 'semicolon', skip: 1, missing: null });
    expect(columns.map(({ heading, role, form }) => [heading, role, form])).toEqual([
      ['stamp', 'time', 'milliseconds'],
      ['who', 'id', 'hex'],
      ['what', 'data', 'hex'],
      ['n', 'length', null],
    ]);
    expect(rows).toHaveLength(20);
    expect(rows[1]).toEqual(['10', '1A0', '00 FF 11', '3']);
  });

  it('says what reading so would give', async () => {
    const { trial } = await preview();
    expect(trial).toMatchObject({ lines: 41, accepted: 40, rejected: 0, passedOver: 1, spanS: 0.39 });
    expect(trial?.identifiers.map(({ id, count }) => [id, count])).toEqual([
      [0x2b4, 20],
      [0x1a0, 20],
    ]);
  });

  it('follows a proposal, headings named in quotes', async () => {
    const proposed = await preview('time="stamp" seconds; id="who"; length=none');
    expect(proposed.trial?.spanS).toBe(390);
    expect(proposed.text).toContain('time=1 seconds');
    expect(proposed.text).toContain('length=none');
  });

  it('keeps what it decided when its own text is given back', async () => {
    const first = await preview();
    const again = await preview(first.text as string);
    expect(again.text).toBe(first.text);
    const table = await readBytes(TABLE, { columns: { '*': first.text as string } });
    expect(pictureOf(table)).toEqual(pictureOf(await readBytes(TABLE)));
    expect(table.files[0]?.columns).toBe(first.text);
  });

  it('says what is missing where nothing fits, and still shows the cells', async () => {
    const outcome = await previewColumns(memorySource('list', new TextEncoder().encode('a,b\nfoo,bar\nbaz,qux\n')));
    expect(outcome.ok && outcome.value.missing).toMatch(/no column holds/);
    expect(outcome.ok && outcome.value.rows[0]).toEqual(['foo', 'bar']);
  });

  it.each([
    ['speed=3', /no role of a column/],
    ['time=1 fortnights', /no form of time/],
    ['id=0', /counted from 1/],
    ['bytes=8-4', /runs backwards/],
    ['id 3', /not of the shape/],
  ])('refuses "%s" in words', async (columns, words) => {
    const outcome = await previewColumns(source, { columns });
    expect(outcome.ok).toBe(false);
    expect(!outcome.ok && outcome.problems[0].message).toMatch(words);
  });
});
