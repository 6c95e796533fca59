import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import type { Placement } from '../../src/frames/bits.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, observedSpan, physicalWalk, placeKey, stateWalk, writeColumn } from './support/streams.ts';

const place = (byte: number, bit: number, length: number, order: 'little' | 'big' = 'little'): Placement => ({
  lsb: { byte, bit },
  length,
  order,
});
const COUNT = 4000;

function streamOf(columns: readonly (readonly [Placement, Float64Array])[]): ReturnType<typeof makeStream> {
  const payload = new Uint8Array(COUNT * 8);
  for (const [placement, values] of columns) writeColumn(payload, 8, placement, values);
  return makeStream(payload, 8);
}

describe('spans', () => {
  it.each(['big', 'little'] as const)(
    'finds a 16-bit value, its order (%s) and that its top bits never moved',
    (order) => {
      const lsb = place(order === 'big' ? 3 : 2, 0, 16, order);
      const stream = streamOf([[lsb, physicalWalk(createRandom('walk'), COUNT, 0, 12000)]]);
      const truth = observedSpan({ ...lsb, coding: 'unsigned', kind: 'number' }, stream) as Placement;
      const { fields } = findFieldsOfStream(stream, {});
      expect(truth.length).toBeLessThan(16);
      expect(fields.map((field) => placeKey(field as Placement))).toEqual([placeKey(truth)]);
      expect(fields[0]?.coding).toBe('unsigned');
    },
  );

  it('takes two orders in one payload apart', () => {
    const random = createRandom('orders');
    const big = place(1, 0, 16, 'big');
    const little = place(4, 4, 12, 'little');
    const stream = streamOf([
      [big, physicalWalk(random, COUNT, 0, 60000)],
      [little, physicalWalk(random, COUNT, 0, 4000)],
    ]);
    const found = findFieldsOfStream(stream, {}).fields.map((field) => placeKey(field as Placement));
    expect(found.sort()).toEqual([placeKey(big), placeKey(little)].sort());
  });

  it('reads a value that crosses zero as signed, with its true range', () => {
    const values = Float64Array.from({ length: COUNT }, (_, row) => Math.round(900 * Math.sin(row / 150)));
    const { fields } = findFieldsOfStream(streamOf([[place(2, 0, 16, 'big'), values]]), {});
    expect(fields).toHaveLength(1);
    expect(fields[0]).toMatchObject({ coding: 'signed', order: 'big', observed: { min: -900, max: 900 } });
    expect(fields[0]?.why).toContain('went through zero');
  });

  it('keeps a flag beside a value apart from it', () => {
    const random = createRandom('flag');
    const value = place(1, 0, 15, 'big');
    const flag = place(0, 7, 1);
    const stream = streamOf([
      [value, physicalWalk(random, COUNT, 0, 32000)],
      [flag, stateWalk(random, COUNT, 2)],
    ]);
    const found = findFieldsOfStream(stream, {}).fields.map((field) => placeKey(field as Placement));
    expect(found.sort()).toEqual([placeKey(flag), placeKey(value)].sort());
  });

  it('claims nothing in random bytes', () => {
    const random = createRandom('cipher');
    const stream = makeStream(
      Uint8Array.from({ length: COUNT * 8 }, () => random.below(256)),
      8,
    );
    const { fields, counters, checksums, selectors, unclaimed } = findFieldsOfStream(stream, {});
    expect([fields, counters, checksums, selectors].map((list) => list.length)).toEqual([0, 0, 0, 0]);
    expect(unclaimed.every((part) => part.reason === 'cipher')).toBe(true);
    expect(unclaimed.reduce((bits, part) => bits + part.length, 0)).toBe(64);
  });

  it('keeps what a person placed and does not propose what a person refused', () => {
    const value = place(1, 0, 16, 'big');
    const stream = streamOf([[value, physicalWalk(createRandom('hand'), COUNT, 0, 65000)]]);
    const low = place(1, 0, 8);
    const placed = findFieldsOfStream(stream, { decisions: [{ kind: 'field', placement: low }] });
    expect(placed.fields[0]).toMatchObject({ ...low, confidence: 1, evidence: [{ kind: 'by-hand' }] });
    expect(placed.fields.slice(1).every((field) => field.lsb.byte === 0)).toBe(true);
    const refused = findFieldsOfStream(stream, { decisions: [{ kind: 'refused', placement: value }] });
    expect(refused.fields.map((field) => placeKey(field as Placement))).not.toContain(placeKey(value));
  });

  it('survives streams of one frame, of no payload and of two lengths', () => {
    expect(findFieldsOfStream(makeStream(Uint8Array.of(1, 2, 3), 3), {}).fields).toEqual([]);
    const empty = { ...makeStream(new Uint8Array(5), 1), length: 0, lengths: new Uint8Array(5) };
    expect(findFieldsOfStream(empty, {}).fields).toEqual([]);
    const mixed = { ...makeStream(new Uint8Array(12), 2), lengths: Uint8Array.of(2, 1, 2, 2, 2, 1) };
    expect(findFieldsOfStream(mixed, {}).unclaimed.length).toBeGreaterThan(0);
  });
});
