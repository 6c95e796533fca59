import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { verify } from '../../src/fields/checksums/judge.ts';
import { rowsOfStream } from '../../src/fields/payload-rows.ts';
import { writeRaw, type Placement } from '../../src/frames/bits.ts';
import type { Stream } from '../../src/frames/table.ts';
import { createRandom } from '../../src/kit/random.ts';
import { compileChecksum } from '../../src/map/checksum.ts';
import type { MapChecksum, MapCounter } from '../../src/map/schema.ts';
import { divide, mixBeyondFamilies } from '../truth/otherwise/payload/slow-checks.ts';
import { makeStream, physicalWalk, stateWalk, writeColumn } from './support/streams.ts';

const place = (byte: number, bit: number, length: number): Placement => ({
  lsb: { byte, bit },
  length,
  order: 'little',
});
/** A checksum's parameters with a plain address: the map's own types let any key in. */
type Rule = Placement &
  Partial<
    Pick<
      MapChecksum,
      | 'method'
      | 'width'
      | 'poly'
      | 'init'
      | 'refin'
      | 'refout'
      | 'xorout'
      | 'covers'
      | 'prefix'
      | 'suffix'
      | 'suffixByCounter'
      | 'carry'
      | 'unit'
    >
  >;

const allBut = (...out: number[]): number[] => [0, 1, 2, 3, 4, 5, 6, 7].filter((byte) => !out.includes(byte));
const hex = (value: number): string => '0x' + value.toString(16).toUpperCase();

interface Guard {
  readonly counter: Placement;
  readonly step?: number;
  readonly max?: number;
  readonly rule: Rule | null;
  readonly lose?: number;
}

/** Two drifting values under a counter and a checksum, by the map's own evaluation. */
function guarded(seed: string, guard: Guard, count = 3000): { stream: Stream; counters: MapCounter[] } {
  const random = createRandom(seed);
  const payload = new Uint8Array(count * 8);
  writeColumn(payload, 8, { lsb: { byte: 3, bit: 0 }, length: 12, order: 'big' }, physicalWalk(random, count, 0, 4000));
  writeColumn(payload, 8, place(4, 0, 12), physicalWalk(random, count, 0, 4000));
  const max = guard.max ?? 2 ** guard.counter.length - 1;
  const counter = {
    name: 'c',
    ...guard.counter,
    step: guard.step ?? 1,
    every: 1,
    min: 0,
    max,
    when: null,
    confidence: 1,
  };
  const counters = [counter] as unknown as MapCounter[];
  const rule = guard.rule && ({ ...guard.rule, when: null, undetermined: [], confidence: 1 } as unknown as MapChecksum);
  const compute = rule && compileChecksum(rule, { counters });
  let tick = 0;
  for (let row = 0; row < count; row++) {
    tick += guard.lose && random.next() < guard.lose ? 2 : 1;
    const value = (((tick * (guard.step ?? 1)) % (max + 1)) + max + 1) % (max + 1);
    writeRaw(guard.counter, value, payload, row * 8);
    if (compute) writeRaw(guard.rule as Placement, Number(compute(payload, row * 8, 8)), payload, row * 8);
  }
  return { stream: makeStream(payload, 8, 0x123), counters };
}

describe('counters', () => {
  it.each([
    ['4 bits, modulus 16', place(6, 0, 4), 1, 15],
    ['4 bits, modulus 15', place(6, 4, 4), 1, 14],
    ['4 bits, modulus 15, step 3', place(6, 4, 4), 3, 14],
    ['backwards', place(6, 0, 4), -1, 15],
    ['8 bits', place(7, 0, 8), 1, 255],
    ['a toggle', place(6, 3, 1), 1, 1],
  ])('finds %s in a log that lost frames', (_title, counter, step, max) => {
    const { stream } = guarded('counter', { counter, step, max, rule: null, lose: 0.02 });
    const { counters } = findFieldsOfStream(stream, {});
    expect(counters).toHaveLength(1);
    expect(counters[0]).toMatchObject({ ...counter, step: max === 1 ? 1 : step, every: 1, min: 0, max });
  });

  it('finds one that steps only when the rest of the frame changes, beside its tag', () => {
    const random = createRandom('on change');
    const [count, states] = [3000, stateWalk(createRandom('states'), 3000, 6)];
    const payload = new Uint8Array(count * 8);
    let counter = 0;
    for (let row = 0; row < count; row++) {
      const own = payload.subarray(row * 8, row * 8 + 8);
      own[1] = states[row] as number;
      own[3] = row % 9 === 0 ? random.below(256) : (payload[row * 8 - 5] as number);
      if (row > 0 && (own[1] !== payload[row * 8 - 7] || own[3] !== payload[row * 8 - 5])) counter++;
      own[6] = counter % 16;
      own[7] = 0xff - (own.subarray(0, 7).reduce((sum, byte) => sum + byte, 0) & 0xff);
    }
    const { counters, checksums } = findFieldsOfStream(makeStream(payload, 8), {});
    expect(checksums).toMatchObject([{ ...place(7, 0, 8), method: 'sum' }]);
    expect(counters).toMatchObject([{ ...place(6, 0, 4), step: 1, min: 0, max: 15 }]);
    expect(counters[0]?.why).toContain('differs from the one before');
  });

  it.each([
    [
      'every 4th frame, by 3',
      place(6, 4, 4),
      (row: number) => (Math.floor(row / 4) * 3) % 15,
      { step: 3, every: 4, max: 14 },
    ],
    ['a toggle', place(6, 7, 1), (row: number) => row % 2, { step: 1, every: 1, max: 1 }],
    ['modulo 10', place(6, 0, 4), (row: number) => row % 10, { step: 1, every: 1, max: 9 }],
  ])('finds %s in a log that lost one frame in thirty', (title, counter, valueAt, rule) => {
    const random = createRandom(title);
    const sent = Array.from({ length: 5000 }, (_, row) => row).filter(() => random.next() >= 1 / 30);
    const payload = new Uint8Array(sent.length * 8);
    writeColumn(payload, 8, place(1, 0, 8), physicalWalk(random, sent.length, 0, 255));
    writeColumn(payload, 8, counter, sent.map(valueAt));
    expect(findFieldsOfStream(makeStream(payload, 8), {}).counters).toMatchObject([{ ...counter, ...rule, min: 0 }]);
  });

  it.each([
    ['two letters in turn', [53, 94]],
    ['three letters in turn', [0x33, 0x00, 0x4d]],
  ])('takes %s for none', (_title, letters) => {
    const payload = new Uint8Array(600 * 8);
    for (let row = 0; row < 600; row++) payload[row * 8 + 2] = letters[row % letters.length] as number;
    expect(findFieldsOfStream(makeStream(payload, 8), {}).counters).toEqual([]);
  });

  it('finds one that is written into every byte, above a value of its own, as often as it stands there, and no pages', () => {
    const random = createRandom('written again');
    const [count, bytes] = [1200, 6];
    const payload = new Uint8Array(count * bytes);
    for (let byte = 0; byte < bytes; byte += 2)
      writeColumn(payload, bytes, place(byte, 0, 2), stateWalk(random, count, 4));
    for (let row = 0; row < count; row++)
      for (let byte = 0; byte < bytes; byte++)
        writeRaw(place(byte, 3, 5), row % 32, payload.subarray(row * bytes, (row + 1) * bytes));
    const { counters, checksums, selectors } = findFieldsOfStream(makeStream(payload, bytes), {});
    expect(counters.map(({ lsb, length, max }) => [lsb.byte, lsb.bit, length, max])).toEqual(
      [0, 1, 2, 3, 4, 5].map((byte) => [byte, 3, 5, 31]),
    );
    expect([checksums, selectors]).toEqual([[], []]);
  });

  it('is not taken for its upper bits alone, which miss half of the gaps of a log', () => {
    const [count, bytes] = [1200, 2];
    const payload = new Uint8Array(count * bytes);
    for (let row = 0; row < count; row++) {
      // A frame sent twice in the wrong order, now and then: the upper bits hardly see it.
      const sent = row % 300 === 100 ? row + 1 : row % 300 === 101 ? row - 1 : row;
      writeRaw(place(1, 2, 5), sent % 32, payload.subarray(row * bytes, (row + 1) * bytes));
    }
    expect(findFieldsOfStream(makeStream(payload, bytes), {}).counters).toMatchObject([
      { lsb: { byte: 1, bit: 2 }, length: 5, step: 1, every: 1, min: 0, max: 31 },
    ]);
  });

  it('does not take a ramp for one', () => {
    const payload = new Uint8Array(8000);
    writeColumn(
      payload,
      8,
      place(0, 0, 16),
      Float64Array.from({ length: 1000 }, (_, row) => 100 + Math.floor(row / 7)),
    );
    expect(findFieldsOfStream(makeStream(payload, 8), {}).counters).toEqual([]);
  });
});

const crc = (width: number, poly: number, init: number, xorout: number, reflected = false) =>
  ({
    method: 'crc',
    width,
    poly: hex(poly),
    init: hex(init),
    refin: reflected,
    refout: reflected,
    xorout: hex(xorout),
  }) as const;

// Parameters of the CRCs: Williams 1993 (Rocksoft model) and the published tables they are drawn from: SAE J1850, AUTOSAR SWS
// CRC library, ITU-T V.41; the forms with data identifier and with a byte list by counter: AUTOSAR PRS E2E profiles 1, 2, 5.
const RULES: readonly (readonly [string, Rule, Placement])[] = [
  ['1D, FF/FF, last byte', { ...place(7, 0, 8), ...crc(8, 0x1d, 0xff, 0xff), covers: allBut(7) }, place(6, 0, 4)],
  [
    '1D with both id bytes before',
    { ...place(0, 0, 8), ...crc(8, 0x1d, 0, 0), covers: allBut(0), prefix: ['0x23', '0x1'] },
    place(1, 0, 4),
  ],
  [
    '2F with the id behind',
    { ...place(0, 0, 8), ...crc(8, 0x2f, 0xff, 0xff), covers: allBut(0), suffix: ['0x23'] },
    place(1, 0, 4),
  ],
  [
    '2F by counter',
    {
      ...place(0, 0, 8),
      ...crc(8, 0x2f, 0xff, 0xff),
      covers: allBut(0),
      suffixByCounter: Array.from({ length: 16 }, (_, i) => [hex((i * 73 + 11) & 255)]),
    },
    place(1, 0, 4),
  ],
  [
    '31 reflected with a secret',
    { ...place(7, 0, 8), ...crc(8, 0x31, 0, 0, true), covers: allBut(7), prefix: ['0x77'] },
    place(6, 4, 4),
  ],
  ['9B', { ...place(7, 0, 8), ...crc(8, 0x9b, 0xff, 0), covers: allBut(7) }, place(6, 4, 4)],
  [
    'an unpublished polynomial and a secret',
    { ...place(7, 0, 8), ...crc(8, 0xa7, 0, 0), covers: allBut(7), suffix: ['0x3A'] },
    place(6, 4, 4),
  ],
  [
    '1021 with the id behind',
    { ...place(0, 0, 16), ...crc(16, 0x1021, 0xffff, 0), covers: allBut(0, 1), suffix: ['0x34', '0x12'] },
    place(6, 0, 8),
  ],
  [
    '1021 reflected',
    { ...place(6, 0, 16), ...crc(16, 0x1021, 0xffff, 0xffff, true), covers: allBut(6, 7) },
    place(1, 0, 8),
  ],
  ['8005 reflected', { ...place(6, 0, 16), ...crc(16, 0x8005, 0xffff, 0, true), covers: allBut(6, 7) }, place(1, 0, 8)],
  ['exclusive or', { ...place(7, 0, 8), method: 'xor', width: 8, init: '0x5A', covers: allBut(7) }, place(6, 0, 4)],
  [
    'sum with the identifier 0x123 and the length 8 added',
    { ...place(7, 0, 8), method: 'sum', width: 8, init: '0x2C', covers: allBut(7) },
    place(6, 0, 4),
  ],
  [
    'complemented sum',
    { ...place(0, 0, 8), method: 'sum', width: 8, init: '0x0', xorout: '0xFF', covers: allBut(0) },
    place(6, 0, 4),
  ],
  [
    'sum with end-around carry',
    { ...place(0, 0, 8), method: 'sum', width: 8, init: '0x0', xorout: '0xFF', carry: 'end-around', covers: allBut(0) },
    place(6, 0, 4),
  ],
  [
    'sum of nibbles',
    { ...place(7, 4, 4), method: 'sum', width: 4, unit: 'nibble', init: '0x7', covers: allBut() },
    place(7, 0, 4),
  ],
  [
    'complemented sum of nibbles',
    { ...place(0, 0, 4), method: 'sum', width: 4, unit: 'nibble', init: '0x0', xorout: '0xF', covers: allBut() },
    place(0, 4, 4),
  ],
  [
    'exclusive or of nibbles',
    { ...place(7, 4, 4), method: 'xor', width: 4, unit: 'nibble', init: '0x9', covers: allBut() },
    place(7, 0, 4),
  ],
  ['a CRC of 4 bits', { ...place(7, 4, 4), ...crc(4, 0x3, 0xf, 0), covers: allBut() }, place(7, 0, 4)],
  [
    'the complement of one byte',
    { ...place(7, 0, 8), method: 'copy', width: 8, xorout: '0xFF', covers: [4] },
    place(6, 0, 4),
  ],
  [
    '1021 high byte first',
    { lsb: { byte: 7, bit: 0 }, length: 16, order: 'big', ...crc(16, 0x1021, 0, 0xffff), covers: allBut(6, 7) },
    place(5, 4, 4),
  ],
];

describe('what only counts like a counter', () => {
  it.each([3, 16, 100])('a timer that runs %s units and some more a frame', (units) => {
    const random = createRandom(`timer ${units}`);
    const count = 3000;
    const payload = new Uint8Array(count * 8);
    const times = Float64Array.from(
      { length: count },
      (_, row) => Math.floor(row * (units + 0.04) + random.next()) % 4096,
    );
    writeColumn(payload, 8, place(2, 2, 12), times);
    expect(findFieldsOfStream(makeStream(payload, 8), {}).counters).toEqual([]);
  });

  it('four bits in a slow frame with gaps in the log are not taken for their lowest alone', () => {
    const frames = Array.from({ length: 230 }, (_, row) => row).filter((row) => row % 40 > 5 || row % 40 === 0);
    const payload = new Uint8Array(frames.length * 4);
    writeColumn(
      payload,
      4,
      place(2, 4, 4),
      frames.map((row) => row % 16),
    );
    expect(findFieldsOfStream(makeStream(payload, 4), {}).counters).toMatchObject([{ ...place(2, 4, 4), max: 15 }]);
  });
});

describe('checksums', () => {
  it.each(RULES)('solves %s; the rule holds on frames it was not fitted on', (title, rule, counter) => {
    const { checksums, counters } = findFieldsOfStream(guarded(title, { counter, rule }).stream, {});
    expect(checksums).toHaveLength(1);
    expect(checksums[0]).toMatchObject({ lsb: rule.lsb, length: rule.length, method: rule.method });
    if (rule.poly) expect(checksums[0]?.poly).toBe(rule.poly);
    const other = guarded(`${title}, another drive`, { counter, rule });
    const rows = rowsOfStream(other.stream);
    expect(verify(checksums[0] as MapChecksum, counters, rows)).toEqual({ passed: rows.count, checked: rows.count });
  });

  it('tells two parts of a long payload apart, each with its own counter and tag', () => {
    const random = createRandom('two parts');
    const [bytes, half, count] = [32, 16, 2000];
    const payload = new Uint8Array(count * bytes);
    for (const byte of [0, 2, 5, 17, 20, 26])
      writeColumn(payload, bytes, place(byte, 0, 8), physicalWalk(random, count, 0, 255));
    const tagOf = (own: Uint8Array, from: number): number =>
      divide({ width: 8, poly: 0x1d, init: 0, reflected: false, xorout: 0 }, [from, ...own.subarray(from, from + 15)]);
    for (let row = 0; row < count; row++) {
      const own = payload.subarray(row * bytes, (row + 1) * bytes);
      writeRaw(place(14, 0, 4), row % 15, own);
      writeRaw(place(30, 0, 4), (row + 7) % 15, own);
      for (const from of [0, half]) own[from + 15] = tagOf(own, from);
    }
    const { checksums, counters } = findFieldsOfStream(makeStream(payload, bytes), {});
    const run = (from: number): number[] => Array.from({ length: 15 }, (_, index) => from + index);
    const byPlace = [...checksums].sort((a, b) => a.lsb.byte - b.lsb.byte);
    expect(byPlace).toMatchObject([
      { lsb: { byte: 15, bit: 0 }, poly: '0x1D', covers: run(0) },
      { lsb: { byte: 31, bit: 0 }, poly: '0x1D', covers: run(half) },
    ]);
    expect(counters.map(({ lsb }) => lsb.byte).sort((a, b) => a - b)).toEqual([14, 30]);
  });

  it('solves a rule though a module sends its first payloads, of another kind, with broken tags', () => {
    const rule: Rule = { ...place(7, 0, 8), ...crc(8, 0x2f, 0xff, 0xff), covers: allBut(7) };
    const { stream } = guarded('start', { counter: place(6, 0, 4), rule });
    const random = createRandom('broken');
    for (let at = 0; at < 8 * 12; at++) stream.payload[at] = random.below(256);
    expect(findFieldsOfStream(stream, {}).checksums).toMatchObject([
      { ...place(7, 0, 8), method: 'crc', poly: '0x2F' },
    ]);
  });

  it('calls a number that stands twice in a frame no checksum', () => {
    const count = 2000;
    const payload = new Uint8Array(count * 8);
    const values = Array.from(physicalWalk(createRandom('twice'), count, 0, 60_000), Math.round);
    for (const byte of [0, 4]) writeColumn(payload, 8, place(byte, 0, 16), values);
    writeColumn(
      payload,
      8,
      place(6, 0, 4),
      values.map((_, row) => row % 16),
    );
    expect(findFieldsOfStream(makeStream(payload, 8), {}).checksums).toEqual([]);
  });

  it('says what of a rule the capture does not show, and how many frames it was held against', () => {
    const rule: Rule = { ...place(7, 0, 8), ...crc(8, 0x1d, 0xff, 0xff), covers: allBut(7) };
    const found = findFieldsOfStream(guarded('shown', { counter: place(6, 0, 4), rule }).stream, {}).checksums[0];
    const bits = (byte: number, ...own: number[]): object[] => own.map((bit) => ({ byte, bit }));
    const still = [...bits(0, 0, 1, 2, 3, 4, 5, 6, 7), ...bits(1, 0, 1, 2, 3, 4, 5, 6, 7), ...bits(6, 4, 5, 6, 7)];
    expect(found?.undetermined).toEqual(expect.arrayContaining(still));
    expect(found?.undetermined).not.toEqual(expect.arrayContaining(bits(6, 0)));
    const proof = (found?.evidence as { heldOut: number; heldOutPassed: number }[])[0]!;
    expect(proof.heldOut).toBeGreaterThan(300);
    expect(proof.heldOutPassed).toBe(proof.heldOut);
    expect(found?.why).toMatch(/held on \d,\d{3} of \d,\d{3} frames not used to find it/);
  });

  it('claims none where there is none', () => {
    const { stream } = guarded('none', { counter: place(7, 0, 4), rule: null });
    expect(findFieldsOfStream(stream, {}).checksums).toEqual([]);
  });

  /** States that come again under a counter, and 16 bits at the end by `tagOf` the bytes before. */
  function tagged(seed: string, tagOf: (message: readonly number[]) => number): Stream {
    const random = createRandom(seed);
    const [count, bytes] = [3000, 8];
    const payload = new Uint8Array(count * bytes);
    writeColumn(payload, bytes, place(0, 0, 3), stateWalk(random, count, 6));
    writeColumn(payload, bytes, place(2, 4, 2), stateWalk(random, count, 3));
    for (let row = 0; row < count; row++) {
      const own = payload.subarray(row * bytes, (row + 1) * bytes);
      writeRaw(place(5, 0, 4), row % 16, own);
      writeRaw(place(6, 0, 16), tagOf([...own.subarray(0, 6)]), own);
    }
    return makeStream(payload, bytes);
  }
  const tagPlace = { lsb: { byte: 6, bit: 0 }, length: 16 };

  it('calls a tag that differs under equal content and counter keyed, with the number of repeats', () => {
    const random = createRandom('key');
    const { checksums, fields } = findFieldsOfStream(
      tagged('keyed', () => random.below(2 ** 16)),
      {},
    );
    expect(checksums).toMatchObject([{ ...tagPlace, method: 'mac' }]);
    expect(checksums[0]?.why).toMatch(/came again \d+ times/);
    expect(fields.filter((field) => field.lsb.byte >= 6)).toEqual([]);
  });

  it('calls a tag that follows from content and counter by no known rule unsolved', () => {
    const mixed = tagged('odd', (message) => mixBeyondFamilies(message, 77) & 0xffff);
    expect(findFieldsOfStream(mixed, {}).checksums).toMatchObject([{ ...tagPlace, method: 'unsolved' }]);
  });

  it('says neither of noise under content that never comes again, nor of a value with noise in its low byte', () => {
    const random = createRandom('noise');
    const { stream } = guarded('noise', { counter: place(6, 0, 4), rule: null });
    for (let row = 0; row < stream.count; row++) {
      stream.payload[row * 8] = row >> 8;
      stream.payload[row * 8 + 1] = row;
      stream.payload[row * 8 + 7] = random.below(256);
    }
    expect(findFieldsOfStream(stream, {}).checksums).toEqual([]);
    const level = createRandom('level');
    const noisy = tagged('a value', () => Math.round(30_000 + 900 * level.normal()));
    expect(findFieldsOfStream(noisy, {}).checksums).toEqual([]);
  });
});
