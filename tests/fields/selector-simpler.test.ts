import { describe, expect, it } from 'vitest';
import { offsetGain } from '../../src/fields/page-offsets.ts';
import { turnBits } from '../../src/fields/page-turn-bits.ts';
import type { CounterBits } from '../../src/fields/selector-candidates.ts';
import { firstAlike, type Judged } from '../../src/fields/selector-choice.ts';
import { createRandom } from '../../src/kit/random.ts';
import { selectorsIn, streamOf, type Fill } from './support/selectors.ts';
import { physicalWalk } from './support/streams.ts';

const COUNT = 3000;
const walkOf = (name: string, low: number, high: number): Float64Array =>
  physicalWalk(createRandom(name), COUNT, low, high);
const at = (walk: Float64Array | undefined, row: number): number => (walk as Float64Array)[row] as number;

const selectorsOf = (fill: Fill, counters: readonly CounterBits[] = []): string[] =>
  selectorsIn(streamOf(COUNT, fill), true, counters);

describe('of two that save the same the simpler', () => {
  it('is the number of two pages and not a counter behind it whose lowest bit goes with them', () => {
    const walks = ['even', 'odd'].map((name) => walkOf(name, 0, 60_000));
    const found = selectorsOf(
      (row) => {
        const value = at(walks[row & 1], row);
        return [row & 1, value & 255, value >> 8, row & 1 ? 0x55 : 0x2a, 0, (row & 3) << 6, 0, 0];
      },
      [{ lsb: { byte: 5, bit: 6 }, length: 2, order: 'little', min: 0, max: 3 }],
    );
    expect(found).toEqual(['0+1']);
  });
});

describe('codes without order', () => {
  /** Pages in turn by `order`, four codes; bits 4 and 5 alone run from 0 to 3. */
  const named = (codes: readonly number[], order: readonly number[]) => {
    const judged = (bit: number, length: number): Judged => {
      const pages = Uint8Array.from({ length: 400 }, (_, row) => {
        const code = codes[order[row % order.length] as number] as number;
        return (code >> bit) & ((1 << length) - 1);
      });
      const values = [...new Set(pages)].sort((a, b) => a - b);
      const rest = { listed: true, inTurn: false, saved: 0.5, gain: 1000, isList: false };
      return { lsb: { byte: 0, bit }, length, order: 'little', pages, values, ...rest };
    };
    return firstAlike([judged(1, 7), judged(4, 2)], judged(4, 2));
  };
  const spotOf = ({ lsb, length }: Judged): string => `${lsb.bit}+${length}`;
  const codes = [0x3e, 0x86, 0x9e, 0xaa];

  it('are taken whole, though two of their bits happen to run from 0 to 3', () => {
    expect(spotOf(named(codes, [0, 3, 0, 1, 0, 2]))).toBe('1+7');
  });

  it('are cut where what is left counts up from one page to the next', () => {
    const counting = [0x86, 0x96, 0xa6, 0xb2];
    expect(spotOf(named(counting, [0, 1, 2, 3]))).toBe('4+2');
  });
});

describe('how far each page lies above the others', () => {
  it('is known of pages that come in no order, where the step to a page goes by the one before it', () => {
    const random = createRandom('no order');
    const pages = Uint8Array.from({ length: 1200 }, () => random.below(9));
    const offsets = Array.from({ length: 9 }, () => 20 * random.normal());
    const steps = Float64Array.from(pages, (page, row) =>
      row === 0 ? 0 : (offsets[page] as number) - (offsets[pages[row - 1] as number] as number) + random.normal(),
    );
    // 600 rows, steps of about 28 against 1.4: some log2(20) bits each; the usual step to a page alone leaves 20 of those 28.
    expect(offsetGain(steps, pages)).toBeGreaterThan(600 * 3);
    const other = createRandom('noise');
    const noise = steps.map(() => 28 * other.normal());
    expect(offsetGain(noise, pages)).toBeLessThan(12);
  });
});

describe('the turns of pages', () => {
  it('cost nothing where each is sent the same number of times, however many', () => {
    const held = Uint8Array.from({ length: 4000 }, (_, row) => Math.floor(row / 6) % 4);
    expect(turnBits(held, 4)).toBeLessThan(20);
    const random = createRandom('turns');
    const drawn = Uint8Array.from({ length: 4000 }, () => random.below(4));
    expect(turnBits(drawn, 4)).toBeGreaterThan(0.95 * 2 * 2000);
  });
});
