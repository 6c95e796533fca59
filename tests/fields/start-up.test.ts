import { expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk, writeColumn } from './support/streams.ts';

const COUNT = 1500;

it.each([
  [1, 'The first frame holds all ones: no data yet.'],
  [40, 'The first 40 frames hold all ones: no data yet.'],
])('says of a value that begins with %i frames of all ones that they are no data', (filled, words) => {
  const payload = new Uint8Array(COUNT * 2);
  const walk = physicalWalk(createRandom('start-up'), COUNT, 2000, 9000).map((value, row) =>
    row < filled ? 0xffff : value,
  );
  writeColumn(payload, 2, { lsb: { byte: 0, bit: 0 }, length: 16, order: 'little' }, walk);
  const { fields } = findFieldsOfStream(makeStream(payload, 2), {});
  expect(fields).toHaveLength(1);
  expect(fields[0]?.why).toContain(words);
});
