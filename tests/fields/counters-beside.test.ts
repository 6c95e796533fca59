/** Counters that only the tag beside them tells: those that did not come round, and those of a part that steps on a change. Payloads are made by code apart from the project's own. */
import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { createRandom } from '../../src/kit/random.ts';
import { divide } from '../truth/otherwise/payload/slow-checks.ts';
import { makeStream, physicalWalk, stateWalk } from './support/streams.ts';

describe('a counter that did not come round', () => {
  it('is told beside a complemented sum, which goes on as it does, and its ends are presumed', () => {
    const [count, values] = [110, physicalWalk(createRandom('slow value'), 110, 40, 60)];
    const payload = new Uint8Array(count * 8);
    for (let row = 0; row < count; row++) {
      const own = payload.subarray(row * 8, row * 8 + 8);
      own.set([0, row, 0x90, 0x09, values[row] as number, 0x7b, 0, 0]);
      let sum = 0;
      for (const byte of own.subarray(1)) sum = sum + byte > 0xff ? sum + byte - 0xff : sum + byte;
      own[0] = 0xff - sum;
    }
    const { checksums, counters } = findFieldsOfStream(makeStream(payload, 8), {});
    expect(checksums).toMatchObject([{ lsb: { byte: 0, bit: 0 }, length: 8, method: 'sum' }]);
    expect(counters).toMatchObject([{ lsb: { byte: 1, bit: 0 }, length: 7, step: 1, every: 1, min: 0, max: 127 }]);
    expect(counters[0]?.why).toContain('did not come round');
  });

  it('is told at every second frame where it runs through all values of its byte', () => {
    const random = createRandom('second');
    const payload = new Uint8Array(900 * 8);
    for (let row = 0; row < 900; row++) {
      const own = payload.subarray(row * 8, row * 8 + 8);
      own.set([random.below(50), 0, random.below(90), 0, 0, 0, (20 + row) >> 1]);
      own[7] = divide({ width: 8, poly: 0x1d, init: 0, reflected: false, xorout: 0 }, [...own.subarray(0, 7)]);
    }
    const { counters } = findFieldsOfStream(makeStream(payload, 8), {});
    expect(counters).toMatchObject([{ lsb: { byte: 6, bit: 0 }, length: 8, every: 2, min: 0, max: 255 }]);
  });
});

describe('a counter that steps down', () => {
  it('is told from the exclusive or of nibbles in the other half of its byte', () => {
    const random = createRandom('down');
    const states = stateWalk(createRandom('down states'), 3000, 5);
    const payload = new Uint8Array(3000 * 8);
    for (let row = 0; row < 3000; row++) {
      const own = payload.subarray(row * 8, row * 8 + 8);
      if (row > 0) own.set(payload.subarray(row * 8 - 8, row * 8));
      own[1] = (states[row] as number) << 4;
      if (row % 6 === 0) own[4] = random.below(256);
      own[7] = 15 - (row % 16);
      const nibbles = [...own].reduce((all, byte) => all ^ (byte >> 4) ^ (byte & 15), 0xf);
      own[7] = (own[7] as number) | (nibbles << 4);
    }
    const { checksums, counters } = findFieldsOfStream(makeStream(payload, 8), {});
    expect(checksums).toMatchObject([{ lsb: { byte: 7, bit: 4 }, length: 4, method: 'xor' }]);
    expect(counters).toMatchObject([{ lsb: { byte: 7, bit: 0 }, length: 4, step: -1, min: 0, max: 15 }]);
  });
});

describe('a counter that steps on a change, beside a tag drawn anew for each frame', () => {
  /** Content changes in one row of eight or so; the counter in byte 2 steps as `steps` has it; bytes 0 and 1 come anew with each frame. */
  const sent = (title: string, steps: (isNews: boolean) => boolean) => {
    const random = createRandom(title);
    const payload = new Uint8Array(3000 * 8);
    let counter = 0;
    for (let row = 0; row < 3000; row++) {
      const own = payload.subarray(row * 8, row * 8 + 8);
      if (row > 0) own.set(payload.subarray(row * 8 - 8, row * 8));
      const isNews = random.below(8) === 0;
      if (isNews) own[4] = (own[4] as number) + (random.below(2) === 0 ? 3 : -2);
      if (steps(isNews)) counter++;
      own.set([random.below(256), random.below(256), counter % 16]);
    }
    return findFieldsOfStream(makeStream(payload, 8), {});
  };

  it('is told by what else the frame says, and the tag by its content that comes again', () => {
    const { checksums, counters } = sent('anew', (isNews) => isNews);
    expect(counters).toMatchObject([{ lsb: { byte: 2, bit: 0 }, length: 4, step: 1, every: 1, min: 0, max: 15 }]);
    expect(checksums).toMatchObject([{ lsb: { byte: 0, bit: 0 }, length: 16, method: 'mac' }]);
  });

  it('is none where it steps at other times than the content', () => {
    const random = createRandom('other times');
    expect(sent('apart', () => random.below(8) === 0).counters).toEqual([]);
  });
});

describe('of two that count in a short frame without a tag', () => {
  it('the one beside which the frame goes on is told, not the number of its page', () => {
    const payload = new Uint8Array(1800 * 8);
    const values = [1, 2, 3].map((seed) => stateWalk(createRandom(`page ${seed}`), 1800, 200));
    for (let row = 0; row < 1800; row++) {
      const page = Math.floor(row / 3) % 3;
      const own = payload.subarray(row * 8, row * 8 + 8);
      own.set([(page + 1) | ((row % 4) << 6), values[page]![row] as number, 0x33 * page, 0x51 + 0x22 * page]);
    }
    const { counters } = findFieldsOfStream(makeStream(payload, 8), {});
    expect(counters).toMatchObject([{ lsb: { byte: 0, bit: 6 }, length: 2, every: 1 }]);
  });
});

describe('two guarded parts of a long frame', () => {
  const [bytes, half, count] = [32, 16, 2400];
  const rule = { width: 8, poly: 0x2f, init: 0xff, reflected: false, xorout: 0 };
  const finish = (own: Uint8Array): void => {
    for (const from of [0, half]) own[from + 15] = divide(rule, [...own.subarray(from, from + 15)]);
  };
  const placesOf = (found: readonly { lsb: { byte: number; bit: number }; length: number }[]): string[] =>
    found.map(({ lsb, length }) => `${lsb.byte}.${lsb.bit}+${length}`).sort();

  it('one counts every frame, the other when its part or the other part says something new', () => {
    const states = stateWalk(createRandom('parts'), count, 6);
    const random = createRandom('part content');
    const payload = new Uint8Array(count * bytes);
    let counter = 0;
    for (let row = 0; row < count; row++) {
      const own = payload.subarray(row * bytes, (row + 1) * bytes);
      if (row > 0) own.set(payload.subarray((row - 1) * bytes, row * bytes));
      own[2] = states[row] as number;
      if (row % 5 === 0) own.set([random.below(256), random.below(40)], 4);
      if (row > 0 && (row % 5 === 0 || own[2] !== payload[(row - 1) * bytes + 2])) counter++;
      own[20] = own[4] as number;
      own[14] = counter % 16;
      own[30] = (row % 16) << 4;
      finish(own);
    }
    const { checksums, counters } = findFieldsOfStream(makeStream(payload, bytes), {});
    expect(placesOf(checksums)).toEqual(['15.0+8', '31.0+8']);
    expect(placesOf(counters)).toEqual(['14.0+4', '30.4+4']);
  });

  it('the part in which nothing but the counter moves has its tag and its counter all the same', () => {
    const random = createRandom('constant half');
    const payload = new Uint8Array(count * bytes);
    for (let row = 0; row < count; row++) {
      const own = payload.subarray(row * bytes, (row + 1) * bytes);
      own.set([0, 0, random.below(256), random.below(256), 0, random.below(30)]);
      own.set([0x11, 0xa2, 0x03, 0x55], half + 2);
      own[14] = row % 16;
      own[30] = (row + 5) % 16;
      finish(own);
    }
    const { checksums, counters } = findFieldsOfStream(makeStream(payload, bytes), {});
    expect(placesOf(checksums)).toEqual(['15.0+8', '31.0+8']);
    expect(placesOf(counters)).toEqual(['14.0+4', '30.0+4']);
  });
});

describe('counters of two bits, in step in two parts of a long frame', () => {
  it('are both told, each beside the tag of its part', () => {
    const random = createRandom('in step');
    const rule = { width: 8, poly: 0xd5, init: 0xff, reflected: false, xorout: 0 };
    const [first, second] = [physicalWalk(random, 700, 0, 250), physicalWalk(random, 700, 0, 250)];
    const payload = new Uint8Array(700 * 16);
    for (let row = 0; row < 700; row++) {
      const own = payload.subarray(row * 16, row * 16 + 16);
      [first, second].forEach((values, part) => {
        const at = own.subarray(part * 8, part * 8 + 8);
        at.set([values[row] as number, random.below(90), 0x2a, random.below(3), 7, 0, 0xa0 | (row & 3)]);
        at[7] = divide(rule, [...at.subarray(0, 7)]);
      });
    }
    const { counters, checksums } = findFieldsOfStream(makeStream(payload, 16), {});
    expect(checksums.map(({ lsb }) => lsb.byte).sort((a, b) => a - b)).toEqual([7, 15]);
    expect(counters.map(({ lsb, length }) => [lsb.byte, length]).sort()).toEqual([
      [14, 2],
      [6, 2],
    ]);
  });
});
