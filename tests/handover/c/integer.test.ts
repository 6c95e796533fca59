import { beforeAll, describe, expect, it } from 'vitest';
import { vehicleFor } from '../../../src/demo/vehicle.ts';
import { fixedPointOf } from '../../../src/handover/c/fixed-point.ts';
import { generateC } from '../../../src/handover/c/source.ts';
import { createRandom } from '../../../src/kit/random.ts';
import { scalingOf } from '../../../src/map/scaling.ts';
import { requireGcc } from '../../support/compile-c.ts';
import { aFrame, aMap, aSignal } from '../../support/map-parts.ts';
import { randomFrame } from '../../support/random-frames.ts';
import { holdAgainst, printed, withRanges } from './held.ts';

beforeAll(requireGcc);

const lsb = { byte: 0, bit: 0 };

/** What is C and no comment. */
const codeOf = (text: string): string => text.replace(/\/\*[\s\S]*?\*\//g, '');

describe('whole numbers against the TypeScript codec', () => {
  it.each([11, 12])('random layouts, seed %i', (seed) => {
    const random = createRandom(seed);
    const frames = Array.from({ length: 30 }, (_, i) => ({
      ...withRanges(randomFrame(random), random),
      id: `0x${(0x100 + i).toString(16).toUpperCase()}`,
      name: `frame ${i}`,
    }));
    const { written, refused, kept } = holdAgainst(aMap(frames), random, 60, { scaling: 'integer' });
    expect(written).toBeGreaterThan(100);
    expect(refused).toBeGreaterThan(100);
    expect(kept).toBeGreaterThan(20);
  });

  it.each(['plain', 'fd'] as const)('the layout of a simulated vehicle, %s', (profile) => {
    const random = createRandom(`whole ${profile}`);
    const { map } = vehicleFor(profile, 815);
    const frames = map.frames.map((frame) => withRanges(frame, random));
    expect(holdAgainst({ ...map, frames }, random, 40, { scaling: 'integer' }).written).toBeGreaterThan(20);
  });
});

describe('counts', () => {
  // Worked by hand: 0.1 x 37 - 40 = -36.3, 363 tenths below nothing; 20 / 51 per step: 51 counts to one, 20 a step.
  it.each([
    [0.1, -40, 37, 10n, -363n],
    [0.0625, 0, 16, 10_000n, 10_000n],
    [100 / 255, 0, 255, 51n, 5100n],
    [1 / 3, 0, 7, 3n, 7n],
    [-3, 12.5, 4, 10n, 5n],
    [1000, 0, 3, 1n, 3000n],
  ])('scale %d, offset %d: raw %i', (scale, offset, raw, perUnit, value) => {
    const signal = aSignal({ lsb, length: 8, scale, offset });
    const fixed = fixedPointOf(signal);
    expect(fixed.perUnit).toBe(perUnit);
    expect(BigInt(raw) * fixed.multiply + fixed.add).toBe(value);
    expect(Number(value) / Number(perUnit)).toBeCloseTo(scalingOf(signal).toPhysical(raw), 9);
  });

  it('keeps the coded value, and says so, where no whole number of counts fits 64 bits', () => {
    const signal = aSignal({ name: 'odd', lsb, length: 40, scale: Math.PI * 1e-7, offset: Math.E });
    expect(fixedPointOf(signal)).toMatchObject({ perUnit: null, multiply: 1n, add: 0n });
    const { header } = generateC(aMap([aFrame({ signals: [signal] })]), { cautions: [], scaling: 'integer' });
    expect(header).toMatch(/int64_t odd; \/\* odd, coded: physical = count x 3\.14\S* \+ 2\.71\S* \*\//);
    expect(header).not.toContain('ODD_PER_UNIT');
  });

  it('halves go upward, as in the TypeScript codec', () => {
    // By hand: 6 / 4 = 1.5 goes to 2, -6 / 4 = -1.5 to -1.
    const signal = aSignal({
      name: 'x',
      lsb,
      length: 8,
      coding: 'signed',
      scale: 4,
      observed: { min: -400, max: 400 },
    });
    const code = generateC(aMap([aFrame({ name: 'f', signals: [signal] })]), { cautions: [], scaling: 'integer' });
    const values = [6, 5, -6, -5, -7, 508, 510, -512, -515];
    const body = values
      .map(
        (value) => `s.x = ${value}; status = (int)sm_f_encode(&s, out); printf("%d:%d ", status, (int)(int8_t)out[0]);`,
      )
      .join('\n');
    const line = printed(code, `sm_f s; uint8_t out[8]; int status; sm_f_init(&s); ${body}`);
    const { toCoded } = scalingOf(signal);
    const expected = values.map((value) => Math.round(toCoded(value)) + 0);
    expect(expected).toEqual([2, 1, -1, -1, -2, 127, 128, -128, -129]);
    const shown = line.split(' ').map((each) => each.split(':').map(Number));
    expect(shown.slice(0, 5)).toEqual([2, 1, -1, -1, -2].map((coded) => [0, coded]));
    // Beyond +-400 nothing was observed: refused, and the buffer keeps the last.
    expect(shown.slice(5).every(([status]) => status === 4)).toBe(true);
  });

  it.each(['float', 'integer'] as const)('a negative zero with an offset comes back as it was, %s', (scaling) => {
    const signal = aSignal({
      name: 'x',
      lsb,
      length: 8,
      coding: 'sign-magnitude',
      offset: 5,
      observed: { min: -9, max: 9 },
    });
    const code = generateC(aMap([aFrame({ name: 'f', length: 1, signals: [signal] })]), { cautions: [], scaling });
    const body = [0x80, 0x00, 0x83]
      .map(
        (raw) =>
          `p[0] = ${raw}u; (void)sm_f_decode(&s, p, 1u); (void)sm_f_encode(&s, p); printf("%u ", (unsigned)p[0]);`,
      )
      .join('\n');
    expect(printed(code, `sm_f s; uint8_t p[1]; ${body}`)).toBe('128 0 131');
  });

  it('has no floating point at all in header and source', () => {
    const random = createRandom('no floats');
    const frames = Array.from({ length: 40 }, (_, i) => ({
      ...withRanges(randomFrame(random), random),
      id: `0x${(0x100 + i).toString(16).toUpperCase()}`,
      name: `frame ${i}`,
    }));
    const { header, source } = generateC(aMap(frames), { cautions: [], scaling: 'integer', crc: 'table' });
    for (const text of [header, source].map(codeOf)) {
      expect(text).not.toMatch(/\b(float|double)\b/);
      expect(text).not.toMatch(/\b\d+\.\d|\b\d+e[-+]?\d/);
    }
  });
});
