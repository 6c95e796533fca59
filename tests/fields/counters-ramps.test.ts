/** Values that count like a counter and are none: clocks, upper bits of timers, digits, numbers of pages. Payloads are made by code apart from the project's own. */
import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream } from './support/streams.ts';

type Fill = (row: number, own: Uint8Array) => void;

/** Counters found in frames of `bytes`. */
function countersIn(count: number, bytes: number, fill: Fill) {
  const payload = new Uint8Array(count * bytes);
  for (let row = 0; row < count; row++) fill(row, payload.subarray(row * bytes, (row + 1) * bytes));
  return findFieldsOfStream(makeStream(payload, bytes), {}).counters;
}

const little = (value: number): number[] => [value & 0xff, (value >> 8) & 0xff, (value >> 16) & 0xff];
const digits = (value: number): number => (Math.floor(value / 10) << 4) | (value % 10);

describe('no counter is', () => {
  const random = createRandom('timer');
  const cases: readonly (readonly [string, number, Fill])[] = [
    ['a clock of seconds that starts with a filling', 118, (row, own) => own.set([row === 0 ? 63 : (row + 5) % 60])],
    ['a clock of seconds in decimal digits', 113, (row, own) => own.set([0, digits((row + 45) % 60)])],
    [
      'a clock of seconds sent five times each',
      567,
      (row, own) => own.set([row < 3 ? 63 : Math.floor((row + 263) / 5) % 60]),
    ],
    ['a bit of a timer that goes five at a time', 234, (row, own) => own.set([0, ...little(5 * row + 9)])],
    [
      'the low byte of a clock that came round once',
      549,
      (row, own) => {
        const seconds = Math.floor(row / 5) + 180;
        own.set([0, 0, 0, seconds >> 8, seconds & 0xff]);
      },
    ],
    [
      'the upper part of a timer that goes nearly half its range at a time',
      588,
      (row, own) => {
        const ticks = (row * 1998 + random.below(3)) & 0xfff;
        own.set([0, ticks & 0xff, (ticks >> 8) | (random.below(2) << 4)]);
      },
    ],
  ];
  it.each(cases)('%s', (_title, count, fill) => {
    expect(countersIn(count, 5, fill)).toEqual([]);
  });
});

describe('a counter is', () => {
  it('a whole byte at the end that came round once', () => {
    const found = countersIn(400, 8, (row, own) => own.set([0, 0, 0, 0, Number(row > 90), 0, 0, (row + 40) & 0xff]));
    expect(found).toMatchObject([{ lsb: { byte: 7, bit: 0 }, length: 8, step: 1, every: 1, min: 0, max: 255 }]);
  });

  it('what counts beside a number of pages that counts as well', () => {
    const found = countersIn(4000, 8, (row, own) => {
      const page = row % 4;
      own.set([0, 0, row & 0xff, page, 20 + page * 31, 7 + page * 59, 90 - page * 17, (row >> 8) & 1]);
    });
    expect(found).toMatchObject([{ lsb: { byte: 2, bit: 0 }, length: 8, step: 1 }]);
  });

  it('one of two in step of which either may be the number of the pages', () => {
    const random = createRandom('pages in step');
    const pages = Array.from({ length: 8 }, () => [3, 4, 5, 6].map(() => random.below(256)));
    const found = countersIn(2400, 8, (row, own) => {
      const page = pages[row % 8] as number[];
      const at = random.below(4);
      if (random.below(3) === 0) page[at] = ((page[at] as number) + 1 + random.below(3)) & 0xff;
      own.set([(row % 8) * 2, row % 8, 0, ...page, 0]);
    });
    expect(found).toMatchObject([{ length: 3, min: 0, max: 7 }]);
  });
});
