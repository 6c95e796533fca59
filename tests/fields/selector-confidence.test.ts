/** How sure a selector is by how its values go and what moves before it, and that nothing on its pages is surer. */
import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import type { NamedSelector } from '../../src/fields/page-leaves.ts';
import { selectorConfidences, surestOn } from '../../src/fields/selector-confidence.ts';
import type { JudgedClaim } from '../../src/fields/types.ts';
import { createRandom } from '../../src/kit/random.ts';
import { streamOf } from './support/selectors.ts';
import { physicalWalk } from './support/streams.ts';

const selector = (name: string, byte: number, values: readonly number[], inTurn: boolean): NamedSelector => ({
  ...{ name, lsb: { byte, bit: 0 }, length: 4, order: 'little', on: [], values, listed: true, inTurn },
  ...{ saved: 0.5, gain: 1000, isList: false },
});
const FREE = new Uint8Array(8).fill(255);
const sureOf = (each: NamedSelector): number => selectorConfidences([each], FREE).get(each.name) as number;

describe('how sure a selector is', () => {
  it('falls with the bytes that move before it, and where its values are no run or come in no order', () => {
    const first = sureOf(selector('first', 0, [0, 1, 2, 3, 4], true));
    expect(first).toBeGreaterThan(0.95);
    expect(sureOf(selector('behind', 4, [0, 1, 2, 3, 4], true))).toBeLessThan(0.9);
    expect(sureOf(selector('codes', 0, [1, 3, 4, 9], true))).toBeLessThan(first);
    expect(sureOf(selector('no order', 0, [0, 1, 2, 3, 4], false))).toBeLessThan(first);
  });

  it('is that of the outer one at most within its pages, and what lies there is no surer', () => {
    const sure = selectorConfidences(
      [selector('outer', 1, [1, 3, 4, 9], false), selector('inner', 2, [0, 1, 2], true)],
      FREE,
    );
    expect(sure.get('inner')).toBeLessThanOrEqual(sure.get('outer') as number);
    expect(surestOn({ outer: [3], inner: [0] }, sure)).toBe(sure.get('inner'));
    expect(surestOn(null, sure)).toBe(1);
  });
});

describe('a payload with pages', () => {
  const count = 2000;
  const walks = [0, 1, 2].map((page) =>
    physicalWalk(createRandom(`sure of page ${page}`), count, 900 * page, 900 * page + 800),
  );
  const judged: JudgedClaim[] = [];
  const found = findFieldsOfStream(
    streamOf(count, (row) => {
      const value = (walks[row % 3] as Float64Array)[row] as number;
      return [row % 3, value & 255, value >> 8, 0, row % 3 === 1 ? value >> 4 : 7, 0, 0, 0];
    }),
    { watch: (each) => judged.push(each) },
  );

  it('says of no field there that it is surer than its selector', () => {
    const sure = found.selectors[0]?.confidence ?? 0;
    const onPages = found.fields.filter(({ when }) => when !== null);
    expect(onPages.length).toBeGreaterThan(2);
    for (const { confidence } of onPages) expect(confidence).toBeLessThanOrEqual(sure);
  });

  it('tells who watches what each claim is judged by', () => {
    expect(judged.filter(({ group }) => group === 'selectors').map(({ terms }) => terms)).toEqual([
      { listed: 1, inTurn: 1, run: 1, two: 0, ahead: 0 },
    ]);
    expect(judged.filter(({ group }) => group === 'pages').length).toBeGreaterThan(2);
  });
});
