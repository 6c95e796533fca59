/** Tags without a rule, and rules where little moves: what is said, and what is not. Payloads are made by code apart from the project's own. */
import { describe, expect, it } from 'vitest';
import { verify } from '../../src/fields/checksums/judge.ts';
import { findUnsolved } from '../../src/fields/checksums/unsolved.ts';
import { findFields, findFieldsOfStream } from '../../src/fields/find.ts';
import { rowsOfStream } from '../../src/fields/payload-rows.ts';
import { writeRaw, type Placement } from '../../src/frames/bits.ts';
import type { Stream } from '../../src/frames/table.ts';
import { createRandom } from '../../src/kit/random.ts';
import type { MapChecksum } from '../../src/map/schema.ts';
import { mixBeyondFamilies } from '../truth/otherwise/payload/slow-checks.ts';
import { makeStream, physicalWalk, stateWalk, writeColumn } from './support/streams.ts';

const place = (byte: number, bit: number, length: number): Placement => ({
  lsb: { byte, bit },
  length,
  order: 'little',
});

/** Slow states in bytes 1 and 2, which come again and again; `finish` writes the rest of each payload. */
function slow(seed: string, count: number, finish: (own: Uint8Array, row: number) => void, bytes = 8): Stream {
  const random = createRandom(seed);
  const payload = new Uint8Array(count * bytes);
  writeColumn(payload, bytes, place(1, 0, 3), stateWalk(random, count, 6));
  writeColumn(payload, bytes, place(2, 4, 2), stateWalk(random, count, 3));
  for (let row = 0; row < count; row++) finish(payload.subarray(row * bytes, (row + 1) * bytes), row);
  return makeStream(payload, bytes);
}

const found = (stream: Stream) => findFieldsOfStream(stream, {});

describe('tags in frames that do not count', () => {
  it.each([
    ['at the end', 3000],
    ['at the end of a short capture', 400],
  ])('one that differs under equal content is keyed, %s', (title, count) => {
    const random = createRandom(title);
    const stream = slow(title, count, (own) => {
      for (let at = 5; at < 8; at++) own[at] = random.below(256);
    });
    const { checksums, fields } = found(stream);
    expect(checksums).toMatchObject([{ lsb: { byte: 5, bit: 0 }, length: 24, method: 'mac' }]);
    expect(fields.filter(({ lsb }) => lsb.byte >= 5)).toEqual([]);
  });

  it.each([
    ['three bytes at the start', 0, 3],
    ['two bytes at the end', 6, 2],
  ])('%s that differ are noise or ciphertext as well: nothing is said', (title, byte, bytes) => {
    const random = createRandom(title);
    const stream = slow(title, 3000, (own) => {
      if (byte === 0) own.copyWithin(3, 0, 3);
      for (let at = byte; at < byte + bytes; at++) own[at] = random.below(256);
    });
    const { checksums, fields } = found(stream);
    expect(checksums).toEqual([]);
    expect(fields.filter(({ lsb }) => lsb.byte >= byte && lsb.byte < byte + bytes)).toEqual([]);
  });

  it('one that is always the same under equal content has a rule', () => {
    const random = createRandom('odd content');
    const stream = slow('odd', 4000, (own) => {
      own[3] = random.below(40);
      own[7] = mixBeyondFamilies([...own.subarray(0, 7)], 31) & 0xff;
    });
    expect(found(stream).checksums).toMatchObject([{ lsb: { byte: 7, bit: 0 }, length: 8, method: 'unsolved' }]);
  });

  it('the low bits of a number with a floating point are none', () => {
    const payload = new Uint8Array(1200 * 8);
    const view = new DataView(payload.buffer);
    const noise = createRandom('float noise');
    for (let row = 0; row < 1200; row++) view.setFloat32(row * 8, 120 * Math.sin(row / 60) + noise.normal(), true);
    const rows = rowsOfStream(makeStream(payload, 8));
    expect(findUnsolved(rows, [], new Uint8Array(8).fill(0xff), null)).toBeNull();
  });

  it('ciphertext is none, nor a byte of noise', () => {
    const random = createRandom('cipher');
    const cipher = slow('cipher', 3000, (own) => {
      for (let at = 3; at < 8; at++) own[at] = random.below(256);
    });
    const noise = slow('noise', 3000, (own) => (own[7] = random.below(256)));
    expect([cipher, noise].flatMap((stream) => found(stream).checksums)).toEqual([]);
  });
});

describe('tags under content that never comes again', () => {
  /** The upper bits of byte 2 and byte 3 go on and on; the counter lies in byte 6 where the tag leaves room, else in byte 4. */
  const goingOn = (title: string, bytes: number, tagAt: (own: Uint8Array, row: number) => number): Stream =>
    slow(title, 2000, (own, row) => {
      own[3] = row & 0xff;
      own[2]! |= (row >> 8) & 0x0f;
      own[7 - bytes] = (row % 15) << 4;
      const tag = tagAt(own, row);
      for (let at = 0; at < bytes; at++) own[8 - bytes + at] = (tag >>> (8 * at)) & 0xff;
    });

  it('three bytes beside the counter are mostly keyed, which is said with little confidence', () => {
    const stream = goingOn('three bytes', 3, (own, row) => mixBeyondFamilies([...own, row & 0xff, row >> 8], 4));
    const { checksums, fields } = found(stream);
    expect(checksums).toMatchObject([{ lsb: { byte: 5, bit: 0 }, length: 24, method: 'mac' }]);
    expect(checksums[0]?.confidence).toBeLessThan(0.7);
    expect(checksums[0]?.why).toContain('a key cannot be told from an unknown rule');
    expect(fields.filter(({ lsb }) => lsb.byte >= 5)).toEqual([]);
  });

  it('of a byte nothing is said: it may be noise', () => {
    const stream = goingOn('a byte', 1, (own) => mixBeyondFamilies([...own], 3));
    expect(found(stream).checksums).toEqual([]);
  });

  it('a byte for each value of the counter alone is none', () => {
    const stream = goingOn('list', 1, (own) => ((own[6]! >> 4) * 73 + 41) & 0xff);
    expect(found(stream).checksums).toEqual([]);
  });
});

describe('small tags that no rule explains', () => {
  it.each([
    ['four bits beside a counter of four', place(7, 4, 4), place(7, 0, 4)],
    ['four bits beside a counter of three', place(7, 0, 4), place(7, 4, 3)],
    ['a byte beside a counter of three bits', place(7, 0, 8), place(6, 0, 3)],
  ])('%s', (title, tag, counter) => {
    const stream = slow(title, 4000, (own, row) => {
      own[4] = Math.floor(row / 50);
      writeRaw(counter, row % 2 ** counter.length, own);
      writeRaw(tag, mixBeyondFamilies([...own], 5) % 2 ** tag.length, own);
    });
    expect(found(stream).checksums).toMatchObject([{ lsb: tag.lsb, length: tag.length, method: 'unsolved' }]);
  });

  it('a number whose low half byte lies beside the counter is none', () => {
    const random = createRandom('number');
    const values = physicalWalk(random, 4000, 0, 4095);
    const stream = slow('number', 4000, (own, row) => {
      writeRaw(place(6, 4, 12), Math.round(values[row] as number), own);
      writeRaw(place(6, 0, 4), row % 16, own);
    });
    expect(found(stream).checksums).toEqual([]);
  });
});

describe('tags in frames that are sent again as they were', () => {
  /** Content changes in one row of eight, the counter in byte 6 with it; what `finish` writes is held until then. */
  const held = (title: string, finish: (own: Uint8Array, random: () => number) => void): Stream => {
    const random = createRandom(title);
    const payload = new Uint8Array(3000 * 8);
    for (let row = 0; row < 3000; row++) {
      const own = payload.subarray(row * 8, row * 8 + 8);
      if (row > 0) own.set(payload.subarray(row * 8 - 8, row * 8));
      if (row % 8 !== 0) continue;
      finish(own, () => random.below(256));
      own[6] = ((own[6] as number) & 0xf0) | ((row / 8) % 16);
    }
    return makeStream(payload, 8);
  };

  it('the counter steps on a change alone, and the tag beside it in the middle of the frame has a rule', () => {
    const stream = held('again', (own, random) => {
      own[1] = random() % 7;
      own[3] = random() % 90;
      own[5] = mixBeyondFamilies([own[1], own[3] as number, own[6] as number], 3) & 0xff;
    });
    const { checksums, counters } = found(stream);
    expect(counters).toMatchObject([{ lsb: { byte: 6, bit: 0 }, length: 4, step: 1, min: 0, max: 15 }]);
    expect(checksums).toMatchObject([{ lsb: { byte: 5, bit: 0 }, length: 8, method: 'unsolved' }]);
    expect(checksums[0]?.why).toContain('sent again');
  });

  it('a noisy value that is held is none: now and then nothing but it and the counter moves', () => {
    const stream = held('held', (own, random) => {
      if (random() < 100) own[1] = random() % 7;
      own[5] = random();
    });
    expect(found(stream).checksums).toEqual([]);
  });

  it('ciphertext beside the number of a page is none', () => {
    const random = createRandom('pages of ciphertext');
    const payload = new Uint8Array(2400 * 8);
    for (let row = 0; row < 2400; row++) {
      const page = row % 8;
      const own = payload.subarray(row * 8, row * 8 + 8);
      own.set([
        page,
        ...[1, 2, 3, 4].map(() => random.below(256)),
        0x11 * page,
        (page * 37) & 0xff,
        0x51 + (row > 1200 ? page : 0),
      ]);
    }
    expect(found(makeStream(payload, 8)).checksums).toEqual([]);
  });
});

describe('frames in which only the counter moves', () => {
  const standing = (tagOf: (own: Uint8Array) => number): Stream => {
    const payload = new Uint8Array(800 * 8);
    for (let row = 0; row < 800; row++) {
      const own = payload.subarray(row * 8, row * 8 + 8);
      own.set([0x00, 0x31, 0x00, 0xa4, 0x00, 0x00, (row % 16) << 4]);
      own[7] = tagOf(own);
    }
    return makeStream(payload, 8);
  };
  const sumOf = (own: Uint8Array): number => own.subarray(0, 7).reduce((sum, byte) => sum + byte, 0);

  it.each([
    ['a sum', (own: Uint8Array) => (sumOf(own) + 0x27) & 0xff],
    ['a complemented sum', (own: Uint8Array) => ~sumOf(own) & 0xff],
    ['a scramble', (own: Uint8Array) => mixBeyondFamilies([...own.subarray(0, 7)], 9) & 0xff],
  ])('%s is a tag whose rule cannot be told', (_title, tagOf) => {
    const { checksums } = found(standing(tagOf));
    expect(checksums).toMatchObject([{ lsb: { byte: 7, bit: 0 }, length: 8, method: 'unsolved' }]);
    expect(checksums[0]?.why).toContain('hardly anything else in the frame moves');
  });

  it('so it is where another bit moved for a moment', () => {
    const scramble = (own: Uint8Array): number => mixBeyondFamilies([...own.subarray(0, 7)], 9) & 0xff;
    const stream = standing(scramble);
    for (let row = 300; row < 304; row++) {
      const own = stream.payload.subarray(row * 8, row * 8 + 8);
      own[2] = 0x80;
      own[7] = scramble(own);
    }
    expect(found(stream).checksums).toMatchObject([{ lsb: { byte: 7, bit: 0 }, length: 8, method: 'unsolved' }]);
  });

  it('the counter written a second time is none, nor a letter for each of its values', () => {
    const letters = 'GUARDS AND PAGES';
    const streams = [
      standing((own) => own[6] as number),
      standing((own) => letters.charCodeAt((own[6] as number) >> 4)),
    ];
    expect(streams.flatMap((stream) => found(stream).checksums)).toEqual([]);
  });

  it('a rule of the bus is no proof at a place that stands still', async () => {
    const sum4 = (own: Uint8Array): number => (sumOf(own) + 7) & 0x0f;
    const random = createRandom('lenders');
    const lenders = [1, 2].map((seed) =>
      slow(`lender ${seed}`, 2000, (own, row) => {
        own[3] = random.below(256);
        writeRaw(place(6, 4, 4), row % 16, own);
        own[7] = 0;
        own[7] = sum4(own);
      }),
    );
    const still = standing(() => 0x57);
    const all = await findFields([...lenders, still], {}, {});
    expect(all[0]?.checksums).toMatchObject([{ length: 4, method: 'sum' }]);
    expect(all[2]?.checksums).toEqual([]);
  });
});

describe('sums where little moves', () => {
  it('end-around carry from a start of all ones shows all ones, not zero, for an empty sum', () => {
    const stream = slow('empty', 3000, (own, row) => {
      if (row % 500 < 250) own.fill(0);
      own[5] = row % 500 < 250 ? 0 : (row >> 1) & 0xff;
      writeRaw(place(6, 0, 2), row % 4, own);
      let sum = 0xff;
      for (const byte of own.subarray(0, 7)) sum = sum + byte > 0xff ? sum + byte - 0xff : sum + byte;
      own[7] = sum;
    });
    const { checksums, counters } = found(stream);
    expect(checksums).toMatchObject([
      { lsb: { byte: 7, bit: 0 }, length: 8, method: 'sum', carry: 'end-around', init: '0xFF' },
    ]);
    expect(verify(checksums[0] as MapChecksum, counters, rowsOfStream(stream))).toEqual({
      passed: 3000,
      checked: 3000,
    });
  });

  it('a sum whose low bits count is found whole beside the counter that it covers', () => {
    const content = [0xd5, 0xd7, 0xf7, 0xf6];
    const payload = new Uint8Array(4000 * 5);
    for (let row = 0; row < 4000; row++) {
      const own = payload.subarray(row * 5, row * 5 + 5);
      own.set([0, content[Math.floor(row / 1000)] as number, row >= 1500 ? 1 : 0, 0x40 + (row % 4)]);
      if (row > 2500) own[3]! |= 0x80;
      own[4] = own.subarray(0, 4).reduce((sum, byte) => sum + byte, 0x27) & 0xff;
    }
    const { checksums } = found(makeStream(payload, 5));
    expect(checksums).toMatchObject([{ lsb: { byte: 4, bit: 0 }, length: 8, method: 'sum', init: '0x27' }]);
  });
});
