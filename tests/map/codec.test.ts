import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/kit/random.ts';
import { compileFrame } from '../../src/map/decode.ts';
import { compileEncoder, encodeFrame, valuesOf } from '../../src/map/encode.ts';
import { bigOf } from '../../src/map/raw-values.ts';
import type { MapSignal } from '../../src/map/schema.ts';
import { aFrame, aSelector, aSignal } from '../support/map-parts.ts';
import { randomFrame, randomPayload } from '../support/random-frames.ts';
import { slowBits, slowPhysical, slowText, slowWrite } from '../support/slow-codec.ts';

const PAYLOAD = Uint8Array.of(0x12, 0x34, 0x56, 0x78);
const frameOf = (...signals: MapSignal[]) => aFrame({ length: 4, signals });
const seeds = fc.integer({ min: 0, max: 2 ** 31 - 1 });

function decodeOne(signal: MapSignal, payload: Uint8Array) {
  const frame = aFrame({ length: payload.length, signals: [signal] });
  const decoded = compileFrame(frame).decode(payload).signals[0];
  if (!decoded) throw new Error('the signal is not there');
  return decoded;
}

function encoded(
  frame: ReturnType<typeof aFrame>,
  ...rest: Parameters<typeof encodeFrame> extends [unknown, ...infer R] ? R : never
) {
  const outcome = encodeFrame(frame, ...rest);
  if (!outcome.ok) throw new Error(outcome.problems.map((p) => p.message).join('; '));
  return [...outcome.value];
}

describe('decoding, by values written by hand from the contract', () => {
  it.each([
    ['little, lsb byte 1 bit 4, 12 bits', { lsb: { byte: 1, bit: 4 }, length: 12, order: 'little' }, 0x563],
    ['big, lsb byte 2 bit 4, 12 bits', { lsb: { byte: 2, bit: 4 }, length: 12, order: 'big' }, 0x345],
    ['big, lsb byte 3 bit 0, 16 bits', { lsb: { byte: 3, bit: 0 }, length: 16, order: 'big' }, 0x5678],
  ] as const)('%s', (_title, placement, raw) => {
    expect(decodeOne(aSignal(placement), PAYLOAD)).toMatchObject({ raw, coded: raw, physical: raw });
  });

  it('takes scale, offset, sign, states and invalid values into account', () => {
    const speed = aSignal({
      lsb: { byte: 1, bit: 0 },
      length: 16,
      order: 'big',
      coding: 'signed',
      scale: 0.5,
      offset: 10,
    });
    expect(decodeOne(speed, Uint8Array.of(0xff, 0xfe))).toMatchObject({ raw: 0xfffe, coded: -2, physical: 9 });
    const gear = aSignal({ lsb: { byte: 0, bit: 4 }, length: 3, kind: 'states', states: { '5': 'drive' } });
    expect(decodeOne(gear, Uint8Array.of(0x5f))).toMatchObject({ raw: 5, state: 'drive', physical: 5 });
    const heat = aSignal({
      lsb: { byte: 0, bit: 0 },
      length: 8,
      offset: -40,
      invalid: [{ from: 254, to: 255, meaning: 'no data' }],
    });
    expect(decodeOne(heat, Uint8Array.of(0x7b))).toMatchObject({ physical: 83, invalid: null });
    const missing = decodeOne(heat, Uint8Array.of(0xff));
    expect(missing).toMatchObject({ raw: 255, invalid: 'no data' });
    expect(missing.physical).toBeNaN();
  });

  it('interpolates a table and has no value outside it', () => {
    const table: [number, number][] = [
      [10, 100],
      [20, 50],
      [40, 0],
    ];
    const signal = aSignal({ lsb: { byte: 0, bit: 0 }, length: 8, table });
    const at = (raw: number) => decodeOne(signal, Uint8Array.of(raw)).physical;
    expect([at(10), at(15), at(20), at(30), at(40)]).toEqual([100, 75, 50, 25, 0]);
    expect(at(9)).toBeNaN();
    expect(decodeOne(signal, Uint8Array.of(41)).invalid).toBe('outside the table');
  });

  it('writes raw values beyond 2^53 as hex strings and keeps smaller ones as numbers', () => {
    const wide = aSignal({ lsb: { byte: 0, bit: 0 }, length: 64 });
    expect(decodeOne(wide, Uint8Array.of(1, 2, 3, 4, 5, 6, 7, 8)).raw).toBe('0x807060504030201');
    expect(decodeOne(wide, Uint8Array.of(7, 0, 0, 0, 0, 0, 0, 0)).raw).toBe(7);
  });

  it('reads text in payload order and packed decimal digit by digit', () => {
    const little = aSignal({ lsb: { byte: 0, bit: 0 }, length: 32, coding: 'text', kind: 'text' });
    const big = aSignal({ lsb: { byte: 3, bit: 0 }, length: 32, order: 'big', coding: 'text', kind: 'text' });
    const bytes = Uint8Array.of(0x48, 0x41, 0x46, 0x00);
    expect(decodeOne(little, bytes).text).toBe('HAF');
    expect(decodeOne(big, bytes).text).toBe('HAF');
    const digits = aSignal({ lsb: { byte: 1, bit: 0 }, length: 16, order: 'big', coding: 'bcd' });
    expect(decodeOne(digits, Uint8Array.of(0x19, 0x87)).physical).toBe(1987);
    expect(decodeOne(digits, Uint8Array.of(0x1a, 0x87)).invalid).toBe('not a decimal digit');
  });

  // IEEE 754-2019, binary interchange formats: 1.0, -2.0 and pi by their published patterns.
  it.each([
    [32, [0x3f, 0x80, 0x00, 0x00], 1],
    [32, [0xc0, 0x00, 0x00, 0x00], -2],
    [32, [0x40, 0x49, 0x0f, 0xdb], Math.fround(Math.PI)],
    [64, [0x3f, 0xf0, 0, 0, 0, 0, 0, 0], 1],
    [64, [0x40, 0x09, 0x21, 0xfb, 0x54, 0x44, 0x2d, 0x18], Math.PI],
  ])('reads binary%i', (bits, bytes, value) => {
    const signal = aSignal({ lsb: { byte: bits / 8 - 1, bit: 0 }, length: bits, order: 'big', coding: 'float' });
    expect(decodeOne(signal, Uint8Array.from(bytes)).physical).toBe(value);
  });

  it('gives only the page that is on, and says which fields a short frame lacks', () => {
    const frame = aFrame({
      length: 4,
      selectors: [aSelector({ lsb: { byte: 0, bit: 0 }, length: 4 })],
      signals: [
        aSignal({ name: 'volts', lsb: { byte: 1, bit: 0 }, length: 8, when: { page: [0, 2] } }),
        aSignal({ name: 'amps', lsb: { byte: 1, bit: 0 }, length: 8, when: { page: [1] } }),
        aSignal({ name: 'tail', lsb: { byte: 3, bit: 0 }, length: 8 }),
      ],
    });
    const { decode } = compileFrame(frame);
    const names = (payload: number[]) => decode(Uint8Array.from(payload)).signals.map((s) => s.name);
    expect(names([0x00, 1, 0, 0])).toEqual(['volts', 'tail']);
    expect(names([0x01, 1, 0, 0])).toEqual(['amps', 'tail']);
    expect(names([0x02, 1, 0, 0])).toEqual(['volts', 'tail']);
    expect(names([0x03, 1, 0, 0])).toEqual(['tail']);
    expect(decode(Uint8Array.of(0x01, 9)).tooShort).toEqual(['tail']);
  });

  it('never reads a field that runs off the front of a frame from the frame before it', () => {
    const signal = aSignal({ lsb: { byte: 0, bit: 0 }, length: 16, order: 'big' });
    const { decode } = compileFrame(aFrame({ length: 2, signals: [signal] }));
    expect(decode(Uint8Array.of(0xaa, 0xbb, 0xcc, 0xdd), 2, 2).signals).toEqual([]);
  });
});

describe('encoding', () => {
  const torque = aSignal({
    name: 'torque',
    lsb: { byte: 1, bit: 4 },
    length: 12,
    order: 'big',
    coding: 'signed',
    scale: 0.25,
    observed: { min: -20, max: 80 },
    unit: 'Nm',
  });

  it('lays values over the rest payload and touches no other bit', () => {
    const frame = aFrame({
      length: 4,
      signals: [torque],
      rest: { payload: 'FF FF A5 5A', capture: 'c1', fromS: 0, toS: 1 },
    });
    expect(encoded(frame, { torque: -1 })).toEqual([0xff, 0xcf, 0xa5, 0x5a]);
  });

  it.each([
    [{ torque: 512 }, {}, 'out-of-range'],
    [{ torque: -512.5 }, {}, 'out-of-range'],
    [{ torque: Number.NaN }, {}, 'out-of-range'],
    [{ torque: 80.25 }, { ranges: 'observed' }, 'beyond-observed'],
    [{ power: 1 }, {}, 'unknown-signal'],
    [{ torque: { raw: 4096 } }, {}, 'out-of-range'],
    [{ torque: { raw: -1 } }, {}, 'out-of-range'],
    [{}, { counters: { alive: 3 } }, 'unknown-counter'],
  ] as const)('refuses %j with %j: %s', (values, options, code) => {
    const outcome = encodeFrame(frameOf(torque), values, options);
    expect(outcome.ok ? 'accepted' : outcome.problems[0].code).toBe(code);
  });

  it('accepts the ends of the observed range and a named state beyond it', () => {
    expect(() => encoded(frameOf(torque), { torque: 80 }, { ranges: 'observed' })).not.toThrow();
    expect(() => encoded(frameOf(torque), { torque: -20 }, { ranges: 'observed' })).not.toThrow();
    const named = { ...torque, states: { '2048': 'init' } };
    expect(encoded(frameOf(named), { torque: 'init' }, { ranges: 'observed' }).slice(0, 2)).toEqual([0x80, 0x00]);
  });

  it('keeps to what was observed and allowed, to the allowed range alone only when asked', () => {
    const wider = frameOf({ ...torque, allowed: { min: -20, max: 100 } });
    expect(encodeFrame(wider, { torque: 90 }, { ranges: 'observed' }).ok).toBe(false);
    expect(encodeFrame(wider, { torque: 90 }, { ranges: 'allowed' }).ok).toBe(true);
    expect(encodeFrame(wider, { torque: 101 }, { ranges: 'allowed' }).ok).toBe(false);
    const narrower = frameOf({ ...torque, allowed: { min: -20, max: 50 } });
    expect(encodeFrame(narrower, { torque: 60 }, { ranges: 'observed' }).ok).toBe(false);
  });

  it('does not send what nothing is known about when the observed range is asked for', () => {
    const outcome = encodeFrame(frameOf({ ...torque, observed: null }), { torque: 1 }, { ranges: 'observed' });
    expect(outcome.ok ? '' : outcome.problems[0].code).toBe('range-unknown');
  });

  it('does not write a number that would read as "no data"', () => {
    const signal = aSignal({
      name: 'heat',
      lsb: { byte: 0, bit: 0 },
      length: 8,
      invalid: [{ from: 255, to: 255, meaning: 'no data' }],
    });
    expect(encodeFrame(frameOf(signal), { heat: 255 }).ok).toBe(false);
    expect(encodeFrame(frameOf(signal), { heat: { raw: 255 } }).ok).toBe(true);
  });

  it('never starts from zeros when no rest payload is known', () => {
    const outcome = encodeFrame(aFrame({ rest: null, signals: [torque] }), { torque: 1 });
    expect(outcome.ok ? '' : outcome.problems[0].code).toBe('no-rest-payload');
  });

  it('holds exactly what 64 bits hold', () => {
    const wide = aSignal({ name: 'wide', lsb: { byte: 0, bit: 0 }, length: 64 });
    const frame = aFrame({ signals: [wide] });
    expect(encodeFrame(frame, { wide: 2 ** 64 }).ok).toBe(false);
    expect(encoded(frame, { wide: { raw: '0xFFFFFFFFFFFFFFFF' } })).toEqual(new Array(8).fill(255));
    expect(encodeFrame(frame, { wide: { raw: 1n << 64n } }).ok).toBe(false);
  });
});

describe('the fast codec against the slow, independently written one', () => {
  it('decodes the same raw value, physical value and text of random layouts', () => {
    fc.assert(
      fc.property(seeds, (seed) => {
        const random = createRandom(seed);
        const frame = randomFrame(random);
        const payload = randomPayload(random, frame.length);
        const byName = new Map(frame.signals.map((signal) => [signal.name, signal]));
        for (const decoded of compileFrame(frame).decode(payload).signals) {
          const signal = byName.get(decoded.name) as MapSignal;
          expect(bigOf(decoded.raw)).toBe(BigInt('0b' + slowBits(signal, payload)));
          if (signal.coding === 'text') expect(decoded.text).toBe(slowText(signal, payload));
          else if (decoded.invalid === null) expectClose(decoded.physical, slowPhysical(signal, payload));
        }
      }),
      { numRuns: 1500 },
    );
  });

  it('encodes the same bytes', () => {
    fc.assert(
      fc.property(seeds, (seed) => {
        const random = createRandom(seed);
        const frame = { ...randomFrame(random, { pages: false }), counters: [], checksums: [] };
        const [from, base] = [randomPayload(random, frame.length), randomPayload(random, frame.length)];
        const encoder = compileEncoder(frame);
        const values = valuesOf(encoder, encoder.compiled.decode(from));
        const outcome = encoder.encode(values, { base });
        const slow = frame.signals.reduce(
          (payload, signal) => slowWrite(signal, slowBits(signal, from), payload),
          base,
        );
        expect(outcome.ok && [...outcome.value]).toEqual([...slow]);
      }),
      { numRuns: 1500 },
    );
  });

  it('comes back through physical values wherever a number can carry the raw value', () => {
    fc.assert(
      fc.property(seeds, (seed) => {
        const random = createRandom(seed);
        const frame = randomFrame(random);
        const payload = randomPayload(random, frame.length);
        const encoder = compileEncoder(frame);
        const decoded = encoder.compiled.decode(payload);
        const values = valuesOf(encoder, decoded);
        for (const { name, invalid, coded } of decoded.signals) {
          const signal = encoder.signal(name)?.compiled;
          if (invalid !== null || !signal || signal.bits > 48) continue;
          // A negative zero is lost once an offset is added to it.
          if (Object.is(coded, -0) && signal.signal.offset !== 0) continue;
          expect(typeof values[name], `${name} of seed ${seed}`).not.toBe('object');
        }
      }),
      { numRuns: 1500 },
    );
  });

  it('gives the same bytes for encode(decode(frame)), guards included', () => {
    fc.assert(
      fc.property(seeds, (seed) => {
        const random = createRandom(seed);
        const frame = randomFrame(random);
        const encoder = compileEncoder(frame);
        const payload = randomPayload(random, frame.length);
        for (const counter of frame.counters)
          encoder.writeCounter(counter.name, random.below(counter.max + 1), payload);
        encoder.writeChecksums(payload, 0, payload.length);
        const decoded = encoder.compiled.decode(payload);
        const base = overwritten(encoder, payload, randomPayload(random, frame.length));
        const outcome = encoder.encode(valuesOf(encoder, decoded), {
          base,
          selectors: decoded.selectors,
          counters: decoded.counters,
        });
        expect(outcome.ok && [...outcome.value], `seed ${seed}`).toEqual([...payload]);
        expect(decoded.checksums.every(({ holds }) => holds)).toBe(true);
      }),
      { numRuns: 1500 },
    );
  });
});

/** The payload with every bit that a selector, signal of its page, counter or checksum owns taken from `noise`. */
function overwritten(encoder: ReturnType<typeof compileEncoder>, payload: Uint8Array, noise: Uint8Array): Uint8Array {
  const { compiled } = encoder;
  const present = <G extends { present: (p: Uint8Array, o: number, l: number) => boolean }>(items: readonly G[]) =>
    items.filter((item) => item.present(payload, 0, payload.length));
  const owned = [
    ...present(compiled.signals).map(({ signal }) => signal),
    ...[...present(compiled.counters), ...present(compiled.checksums), ...compiled.selectors].map(({ rule }) => rule),
  ];
  return owned.reduce<Uint8Array>((bytes, field) => slowWrite(field, slowBits(field, noise), bytes), payload);
}

/** Two ways of rounding the same formula may differ in the last places. */
function expectClose(actual: number, expected: number): void {
  if (Object.is(actual, expected) || actual === expected) return;
  expect(Math.abs(actual - expected)).toBeLessThanOrEqual(1e-12 * Math.max(1, Math.abs(actual), Math.abs(expected)));
}
