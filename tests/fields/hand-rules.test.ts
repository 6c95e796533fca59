/** A guard's rule set by a person binds the real finders: it stays as set, its figures are true, and the finders' own rule is told beside it. */
import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { fixedPlaces, withHandRules } from '../../src/fields/hand-rules.ts';
import type { FrameFindings, HandDecision } from '../../src/fields/types.ts';
import { bitPositions, type Placement } from '../../src/frames/bits.ts';
import { createRandom } from '../../src/kit/random.ts';
import type { MapChecksum, MapCounter } from '../../src/map/schema.ts';
import { makeStream, physicalWalk, writeColumn } from './support/streams.ts';

const COUNT = 4000;
const place = (byte: number, bit: number, length: number) => ({ lsb: { byte, bit }, length, order: 'little' as const });

/** A 16-bit value in bytes 0 and 1, bits of chance in byte 3, a counter in byte 6, and the sum of all before it in byte 7; `wrong` of the sums are not. */
function guarded(wrong: number): ReturnType<typeof makeStream> {
  const random = createRandom('hand rules');
  const payload = new Uint8Array(COUNT * 8);
  writeColumn(
    payload,
    8,
    { ...place(1, 0, 16), order: 'big' as const },
    physicalWalk(createRandom('hand'), COUNT, 0, 65000),
  );
  for (let row = 0; row < COUNT; row++) {
    payload[row * 8 + 3] = random.below(256);
    payload[row * 8 + 6] = row % 16;
    const sum = payload.subarray(row * 8, row * 8 + 7).reduce((total, byte) => total + byte, 0);
    payload[row * 8 + 7] = (sum + (row < wrong ? 1 : 0)) & 255;
  }
  return makeStream(payload, 8);
}

const placeOf = (rule: MapChecksum | MapCounter): Placement => ({
  lsb: rule.lsb,
  length: rule.length,
  order: rule.order,
});
const setSum = (covers: number[]): HandDecision => {
  const checksum: MapChecksum = {
    ...place(7, 0, 8),
    method: 'sum',
    width: 8,
    init: '0x0',
    xorout: '0x0',
    covers,
    prefix: [],
    suffix: [],
    when: null,
    undetermined: [],
    confidence: 0,
  };
  return { kind: 'rule', placement: placeOf(checksum), checksum };
};
const setCounter = (at: ReturnType<typeof place>, max: number): HandDecision => {
  const counter: MapCounter = { ...at, name: 'tried', step: 1, every: 1, min: 0, max, when: null, confidence: 0 };
  return { kind: 'rule', placement: at, counter };
};

const find = (stream: ReturnType<typeof makeStream>, ...decisions: HandDecision[]): FrameFindings =>
  findFieldsOfStream(stream, { decisions });
const figures = (item: object | undefined): unknown => (item as { evidence?: unknown[] } | undefined)?.evidence?.[0];

describe('a rule set by hand', () => {
  it('that the finders have too is no disagreement, and says in how many frames it holds', () => {
    const { checksums, disagreements } = find(guarded(40), setSum([0, 1, 2, 3, 4, 5, 6]));
    expect(disagreements).toEqual([]);
    expect(checksums).toHaveLength(1);
    expect(figures(checksums[0])).toEqual({ kind: 'by-hand', passed: COUNT - 40, checked: COUNT });
    expect(checksums[0]?.why).toBe('Set by hand: it holds in 3,960 of 4,000 frames.');
    expect(checksums[0]?.confidence).toBeCloseTo(0.99, 2);
  });

  it('stands although it fails, with no trust in it, and the rule found is told beside it', () => {
    const { checksums, disagreements } = find(guarded(0), setSum([0, 1, 2, 4, 5, 6]));
    expect(checksums).toHaveLength(1);
    expect(checksums[0]).toMatchObject({ method: 'sum', covers: [0, 1, 2, 4, 5, 6] });
    const { passed } = figures(checksums[0]) as { passed: number };
    // Byte 3, left out, is 0 in about one frame of 256.
    expect(passed).toBeLessThan(40);
    expect(checksums[0]?.confidence).toBeLessThan(0.02);
    expect(disagreements?.[0]?.words).toMatch(/another rule here, as a checksum\. Sum of bytes/);
    expect(checksums[0]?.why).toContain(disagreements?.[0]?.words);
  });

  it('keeps its bits from every finder', () => {
    const found = find(guarded(0), setCounter(place(3, 0, 4), 15));
    const counter = found.counters.find(({ lsb }) => lsb.byte === 3);
    expect(counter?.name).toBe('counter_b3_bits0to3');
    const others = [...found.fields, ...found.unclaimed, ...found.checksums] as unknown as Placement[];
    const taken = others.filter((other) => bitPositions(other).some((bit) => bit >= 24 && bit < 28));
    expect(taken).toEqual([]);
    // Bits of chance follow on by chance alone.
    const { passed, checked } = figures(counter) as { passed: number; checked: number };
    expect(checked).toBe(COUNT - 1);
    expect(passed / checked).toBeLessThan(0.1);
  });

  it('for a counter, another modulus than the one found is told', () => {
    const { counters, disagreements } = find(guarded(0), setCounter(place(6, 0, 4), 14));
    expect(counters).toHaveLength(1);
    expect(counters[0]?.max).toBe(14);
    expect(disagreements?.[0]?.words).toMatch(
      /another rule here, as a counter\. Steps by 1 at every frame, from 0 to 15/,
    );
  });

  it('of one page leaves the bits of the other pages alone', () => {
    const when = { page: [1] };
    const rule = setCounter(place(1, 0, 4), 15);
    const counter = { ...(rule.counter as MapCounter), when };
    const parts = {
      ...findFieldsOfStream(guarded(0), {}),
      selectors: [{ ...place(6, 0, 4), name: 'page', confidence: 1, why: '' }],
    };
    const [field] = parts.fields;
    if (!field) throw new Error('no field');
    const fields = [0, 1].map((page) => ({ ...field, when: { page: [page] } }));
    const held = withHandRules({ ...parts, fields }, [{ ...rule, counter }], guarded(0));
    expect(held.fields.map((each) => each.when)).toEqual([{ page: [0] }]);
    // Of 4,000 frames every 16th is on page 1.
    expect(figures(held.counters.at(-1))).toMatchObject({ checked: COUNT / 16 - 1 });
    expect(fixedPlaces([{ ...rule, counter }, rule])).toEqual([rule.placement]);
  });

  it('a guard refused is not proposed again', () => {
    const placement = place(7, 0, 8);
    const { checksums, disagreements } = find(guarded(0), { kind: 'refused', placement });
    expect(checksums.filter(({ lsb }) => lsb.byte === 7)).toEqual([]);
    expect(disagreements?.[0]?.words).toBe('Left to themselves the finders would take it as the checksum b7.');
  });
});
