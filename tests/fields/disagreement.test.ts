/** A person's decisions bind the real finders, and where these would have had it otherwise it is said beside, with figures. */
import { describe, expect, it } from 'vitest';
import { findFields, findFieldsOfStream } from '../../src/fields/find.ts';
import type { FrameFindings, HandDecision } from '../../src/fields/types.ts';
import type { Placement } from '../../src/frames/bits.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk, placeKey, writeColumn } from './support/streams.ts';

const place = (byte: number, bit: number, length: number, order: 'little' | 'big' = 'little'): Placement => ({
  lsb: { byte, bit },
  length,
  order,
});
const COUNT = 4000;
const VALUE = place(1, 0, 16, 'big');
const COUNTER = place(6, 0, 4);

/** A 16-bit value in bytes 0 and 1, a counter in byte 6, and the sum of all before it in byte 7. */
function guarded(): ReturnType<typeof makeStream> {
  const payload = new Uint8Array(COUNT * 8);
  writeColumn(payload, 8, VALUE, physicalWalk(createRandom('hand'), COUNT, 0, 65000));
  writeColumn(
    payload,
    8,
    COUNTER,
    Float64Array.from({ length: COUNT }, (_, row) => row % 16),
  );
  for (let row = 0; row < COUNT; row++)
    payload[row * 8 + 7] = payload.subarray(row * 8, row * 8 + 7).reduce((sum, byte) => sum + byte, 0) & 255;
  return makeStream(payload, 8);
}

const stream = guarded();
const find = (...decisions: HandDecision[]): FrameFindings => findFieldsOfStream(stream, { decisions });

describe('a decision by hand', () => {
  it('is no matter for words where the finders agree', () => {
    const free = findFieldsOfStream(stream, {});
    expect(free.disagreements).toBeUndefined();
    const found = free.fields[0] as unknown as Placement;
    const { lsb, length, order } = found;
    expect(find({ kind: 'field', placement: { lsb, length, order } }).disagreements).toEqual([]);
  });

  it('keeps half of a value as placed, and says that the whole takes fewer bits, and how many', () => {
    const low = place(1, 0, 8);
    const { fields, disagreements } = find({ kind: 'field', placement: low });
    const placed = fields.find((field) => placeKey(field as Placement) === placeKey(low));
    expect(disagreements).toHaveLength(1);
    const [found] = disagreements ?? [];
    expect(found?.instead.map(({ what, place: name }) => [what, name])).toEqual([['field', 'b0_1']]);
    expect(found?.moreBits).toBeGreaterThan(100);
    expect(found?.words).toMatch(/finders have the field b0–1 here\. As placed.* [\d,]+ bits more/);
    expect(placed?.why).toContain(found?.words);
    expect(placed?.evidence).toEqual([{ kind: 'by-hand', instead: found?.instead, moreBits: found?.moreBits }]);
    expect(placed?.confidence).toBe(1);
  });

  it('says that a placed value crosses a counter and a checksum', () => {
    const across = place(7, 0, 16, 'big');
    const { fields, counters, disagreements } = find({ kind: 'field', placement: across });
    expect(fields.map((field) => placeKey(field as Placement))).toContain(placeKey(across));
    expect(counters).toEqual([]);
    expect(disagreements?.[0]?.instead.map(({ what }) => what).sort()).toEqual(['checksum', 'counter']);
    expect(disagreements?.[0]?.words).toMatch(/^It crosses what was found as the counter .*, the checksum /);
  });

  it('does not propose again what was refused, and says that the finders would', () => {
    const free = findFieldsOfStream(stream, {}).fields[0] as unknown as Placement;
    const { lsb, length, order } = free;
    const { fields, disagreements } = find({ kind: 'refused', placement: { lsb, length, order } });
    expect(fields.map((field) => placeKey(field as Placement))).not.toContain(placeKey(free));
    expect(disagreements?.[0]).toMatchObject({ kind: 'refused', instead: [{ what: 'field' }] });
    expect(disagreements?.[0]?.words).toContain('would take it');
  });

  it('is read as the person reads it', () => {
    const { fields } = find({ kind: 'field', placement: VALUE, coding: 'signed' });
    expect(fields[0]?.coding).toBe('signed');
  });

  it('binds through the entrance that takes all identifiers too', async () => {
    const low = place(1, 0, 8);
    const [found] = await findFields([stream], { decisions: [{ kind: 'field', placement: low }] }, {});
    expect(found?.disagreements).toHaveLength(1);
  });
});
