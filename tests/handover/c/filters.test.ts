import { describe, expect, it } from 'vitest';
import { passes, receiveFilters, type FilterChoice } from '../../../src/handover/c/filters.ts';
import { generateC } from '../../../src/handover/c/source.ts';
import { createRandom, type Random } from '../../../src/kit/random.ts';
import { aFrame, aMap } from '../../support/map-parts.ts';
import { printed } from './held.ts';

const drawn = (random: Random, count: number, below: number): number[] => [
  ...new Set(Array.from({ length: count }, () => random.below(below))),
];

const allPass = (ids: readonly number[], { filters }: FilterChoice): boolean =>
  ids.every((id) => filters.some((filter) => passes(id, filter)));

/** Identifiers of 11 bits that pass, told one by one. */
const counted = ({ filters }: FilterChoice): number =>
  Array.from({ length: 2048 }, (_, id) => id).filter((id) => filters.some((filter) => passes(id, filter))).length;

/** Every way to put identifiers into at most `most` groups, by their group numbers; independent of the code under test. */
function leastOthers(wanted: readonly number[], others: readonly number[], most: number): number {
  let least = Infinity;
  const places = wanted.map(() => 0);
  for (let n = 0; n < most ** wanted.length; n++) {
    wanted.forEach((_, i) => (places[i] = Math.floor(n / most ** i) % most));
    let sum = 0;
    for (let group = 0; group < most; group++) {
      const ids = wanted.filter((_, i) => places[i] === group);
      const [and, or] = [ids.reduce((a, b) => a & b, 0x7ff), ids.reduce((a, b) => a | b, 0)];
      if (ids.length > 0) sum += others.filter((id) => (id & and) === and && (id | or) === or).length;
    }
    least = Math.min(least, sum);
  }
  return least;
}

describe('receive filters', () => {
  it('without a limit: one each, and nothing else passes', () => {
    const random = createRandom('exact');
    const wanted = drawn(random, 20, 2048);
    const choice = receiveFilters(wanted, drawn(random, 100, 2048), 11, null);
    expect(choice.filters).toHaveLength(wanted.length);
    expect(counted(choice)).toBe(wanted.length);
    expect(choice.othersPassing).toEqual([]);
  });

  it('joins what fills a whole block at no cost', () => {
    // By hand: 0x100..0x103 differ in bits 0 and 1 only.
    const choice = receiveFilters([0x100, 0x101, 0x102, 0x103], [0x104, 0x0ff], 11, 4);
    expect(choice.filters).toEqual([{ match: 0x100, mask: 0x7fc }]);
    expect(choice).toMatchObject({ passing: 4, othersPassing: [], isBest: true });
  });

  it.each([1, 2, 3])(
    'lets the fewest others pass with up to 7 identifiers: seed %i against every way of sharing',
    (seed) => {
      const random = createRandom(`sharing ${seed}`);
      for (let i = 0; i < 12; i++) {
        const all = drawn(random, 47, 256);
        const [wanted, others] = [all.slice(0, 7), all.slice(7)];
        const most = 2 + random.below(2);
        const choice = receiveFilters(wanted, others, 11, most);
        expect(allPass(wanted, choice)).toBe(true);
        expect(choice.filters.length).toBeLessThanOrEqual(most);
        // A sum over filters, in which an other that passes two of them counts twice.
        const sum = choice.filters.reduce((n, filter) => n + others.filter((id) => passes(id, filter)).length, 0);
        expect(sum).toBe(leastOthers(wanted, others, most));
        expect(choice.othersPassing).toEqual(
          others.filter((id) => choice.filters.some((filter) => passes(id, filter))).sort((a, b) => a - b),
        );
      }
    },
  );

  it.each([11, 29] as const)('many identifiers of %i bits: all pass, never more filters than there are', (width) => {
    const random = createRandom(`many ${width}`);
    for (const most of [1, 2, 4, 14, 28]) {
      const wanted = drawn(random, 40, 2 ** width);
      const others = drawn(random, 120, 2 ** width);
      const choice = receiveFilters(wanted, others, width, most);
      expect(choice.filters.length).toBeLessThanOrEqual(most);
      expect(allPass(wanted, choice)).toBe(true);
      if (width === 11) expect(choice.passing).toBeGreaterThanOrEqual(counted(choice));
    }
  });

  it('more filters never let more others pass by much: 28 do better than 4', () => {
    const random = createRandom('more');
    const all = drawn(random, 200, 2048);
    const passing = (most: number): number =>
      receiveFilters(all.slice(0, 40), all.slice(40), 11, most).othersPassing.length;
    expect(passing(28)).toBeLessThan(passing(4) / 4);
  });
});

it('are tables in C, apart for each bus and kind of identifier, of what the part sends', () => {
  const frames = [
    ...['0x100', '0x101', '0x200'].map((id) => aFrame({ id, name: `own ${id}`, role: 'sent-by-part' })),
    aFrame({ id: '0x201', name: 'other', role: 'other' }),
    aFrame({ id: '0x18FF0001', extended: true, name: 'long', role: 'sent-by-part' }),
    aFrame({ id: '0x100', bus: 'can 1', name: 'elsewhere', role: 'sent-by-part' }),
  ];
  const code = generateC(aMap(frames), { cautions: [], filters: 2 });
  expect(code.header).toContain('of the 1 others in the map');
  const line = printed(
    code,
    `unsigned i; for (i = 0u; i < SM_FILTERS_CAN0_BASE_COUNT; i++) printf("%X/%X ", (unsigned)sm_filters_can0_base[i].match, (unsigned)sm_filters_can0_base[i].mask);
     printf("%X/%X ", (unsigned)sm_filters_can0_extended[0].match, (unsigned)sm_filters_can0_extended[0].mask);
     printf("%X", (unsigned)sm_filters_can_1_base[0].match);`,
  );
  expect(line).toBe('100/7FE 200/7FF 18FF0001/1FFFFFFF 100');
});
