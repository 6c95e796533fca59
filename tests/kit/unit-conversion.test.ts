/**
 * Units: factors of NIST Special Publication 811 (2008), appendix B, from memory; those of mile, foot and pound-force follow
 * from their exact definitions (1609.344 m, 0.3048 m, 4.4482216152605 N).
 */
import { describe, expect, it } from 'vitest';
import { conversionBetween, isUnitOfSpeed } from '../../src/kit/unit-conversion.ts';

describe('conversion', () => {
  it.each([
    ['mph', 'km/h', 1.609344, 0],
    ['km/h', 'm/s', 1 / 3.6, 0],
    ['kph', 'mph', 1 / 1.609344, 0],
    ['knots', 'km/h', 1.852, 0],
    ['psi', 'kPa', 6.894757, 0],
    ['bar', 'kPa', 100, 0],
    ['lbf ft', 'N m', 1.355818, 0],
    ['rpm', 'rad/s', (2 * Math.PI) / 60, 0],
    ['°F', '°C', 5 / 9, (-32 * 5) / 9],
    ['degC', 'degF', 1.8, 32],
    ['K', '°C', 1, -273.15],
    ['mV', 'V', 0.001, 0],
    ['Wh', 'kWh', 0.001, 0],
    ['V', 'V', 1, 0],
  ])('%s to %s', (from, to, scale, offset) => {
    const by = conversionBetween(from, to);
    expect((by?.scale ?? 0) / scale).toBeCloseTo(1, 6);
    expect(by?.offset).toBeCloseTo(offset, 6);
  });

  it.each([
    ['V', 'A'],
    ['u', 'V'],
    ['', 'V'],
    ['rpm', 'km/h'],
  ])('there is none from "%s" to %s', (from, to) => {
    expect(conversionBetween(from, to)).toBeNull();
  });

  it('knows speeds', () => {
    expect(['mph', 'km/h', 'm/s', 'kn'].every(isUnitOfSpeed)).toBe(true);
    expect(['', 'V', 'rpm'].some(isUnitOfSpeed)).toBe(false);
  });
});
