/** A fit against readings in one unit, told in the unit that the map has. */
import { describe, expect, it } from 'vitest';
import { fitInUnit } from '../../src/reference/in-unit.ts';
import type { Fit } from '../../src/reference/types.ts';

const fit: Fit = {
  bus: 'can0',
  id: '0x1F4',
  extended: false,
  field: 'f',
  lsb: { byte: 0, bit: 0 },
  length: 12,
  order: 'little',
  coding: 'unsigned',
  when: null,
  scale: 0.03107,
  scaleSe: 0.00002,
  offset: 0.01,
  offsetSe: 0.02,
  simpleScale: null,
  simpleOffset: null,
  lagS: 0,
  r2: 0.999,
  n: 200,
  scaleInterval: [0.03103, 0.03111],
  offsetInterval: [-0.03, 0.05],
  residualSd: 0.1,
  range: { min: 0, max: 60 },
};

describe('a fit in the unit of the map', () => {
  it('finds the round scale that the reference’s unit hides: 0.05 km/h, read in mph', () => {
    const told = fitInUnit(fit, 'speed', 'mph', 'km/h');
    expect(told?.scale).toBeCloseTo(0.05, 4);
    expect(told).toMatchObject({ simpleScale: 0.05, simpleOffset: 0 });
    expect((told?.scaleSe ?? 0) / fit.scaleSe).toBeCloseTo(1.609344, 6);
    expect(told?.range?.max).toBeCloseTo(96.56, 2);
  });

  it('moves the offset of temperatures, and each point of a curve', () => {
    const warm: Fit = {
      ...fit,
      scale: 0.9,
      offset: -40,
      range: { min: -40, max: 180 },
      table: [
        [0, -40],
        [250, 212],
      ],
    };
    const told = fitInUnit(warm, 'oil', '°F', '°C');
    expect(told?.offset).toBeCloseTo(-40, 6);
    expect(told?.scale).toBeCloseTo(0.5, 6);
    expect(told?.table?.[1]?.[1]).toBeCloseTo(100, 6);
    expect(told?.simpleScale).toBeNull();
  });

  it('names no round scale for a speed by satellite, and answers null where units are of two kinds', () => {
    expect(fitInUnit(fit, 'satellite_speed', 'mph', 'km/h')?.simpleScale).toBeNull();
    expect(fitInUnit(fit, 'speed', 'mph', 'V')).toBeNull();
  });
});
