import { describe, expect, it } from 'vitest';
import { compileFrame } from '../../src/map/decode.ts';
import type { MapSignal } from '../../src/map/schema.ts';
import { aFrame, aSignal } from '../support/map-parts.ts';

/** A service 01 answer: 41, identifier, A, B. The formulas of SAE J1979, written as map signals over the bytes after 41. */
const a = { lsb: { byte: 2, bit: 0 }, length: 8 } as const;
const ab = { lsb: { byte: 3, bit: 0 }, length: 16, order: 'big' } as const;
const percent = { ...a, scale: 100 / 255, unit: '%' } as const;

// Source: SAE J1979 service 01 formulas; the example answers are computed from them.
const EXAMPLES: readonly (readonly [string, Parameters<typeof aSignal>[0], string, number, number])[] = [
  ['0C: (256 A + B) / 4 rpm', { ...ab, scale: 1 / 4, unit: 'rpm' }, '41 0C 1A F8', 1726, 0],
  ['0D: A km/h', { ...a, unit: 'km/h' }, '41 0D 32', 50, 0],
  ['05: A - 40 C', { ...a, offset: -40, unit: 'C' }, '41 05 7B', 83, 0],
  ['11: A x 100 / 255 %', percent, '41 11 80', 50.2, 0.05],
  ['42: (256 A + B) / 1000 V', { ...ab, scale: 1 / 1000, unit: 'V' }, '41 42 36 B0', 14, 1e-12],
  ['5B: A x 100 / 255 %', percent, '41 5B CC', 80, 1e-12],
  ['49: A x 100 / 255 %', percent, '41 49 26', 14.9, 0.05],
];

describe('SAE J1979 service 01', () => {
  it.each(EXAMPLES)('PID %s', (_title, part, answer, expected, tolerance) => {
    const signal: MapSignal = aSignal({ ...part, name: 'value' });
    const payload = Uint8Array.from(answer.split(' '), (byte) => Number.parseInt(byte, 16));
    const value = compileFrame(aFrame({ signals: [signal] })).decode(payload).signals[0]?.physical;
    expect(Math.abs((value as number) - expected)).toBeLessThanOrEqual(tolerance);
  });
});
