/** From one unit to another, by the package js-quantities; here are only the spellings that it does not know. */
import Qty from 'js-quantities/esm';

/** Common practice, no source. Temperatures are points on their scale, never differences. */
const SPELLINGS: readonly (readonly [RegExp, string])[] = [
  [/^(°|deg ?)c$|^celsius$/i, 'tempC'],
  [/^(°|deg ?)f$|^fahrenheit$/i, 'tempF'],
  [/^k(elvin)?$/i, 'tempK'],
  [/^km\/?h$|^kph$/i, 'km/h'],
  [/^n[ ·*]?m$/i, 'N*m'],
  [/^(lbf?[ ·*-]?ft|ft[ ·*-]?lbf?)$/i, 'ft*lbf'],
  [/^(rpm|r\/min|1\/min|min⁻¹)$/i, 'rpm'],
  [/^knots?$/i, 'kn'],
];

function spelt(unit: string): string {
  const plain = unit.trim();
  return SPELLINGS.find(([pattern]) => pattern.test(plain))?.[1] ?? plain.replaceAll('·', '*');
}

/** value in the new unit = scale x value + offset. */
export interface Conversion {
  readonly scale: number;
  readonly offset: number;
}

/** Digits that the package's own factors are good for. */
const DIGITS = 10;
const tidy = (value: number): number => Number(value.toPrecision(DIGITS));

/** Null where a unit is not known or they are of different kinds. */
export function conversionBetween(from: string, to: string): Conversion | null {
  if (from.trim() === to.trim()) return { scale: 1, offset: 0 };
  try {
    const at = (value: number): number => Qty(value, spelt(from)).to(spelt(to)).scalar;
    const offset = at(0);
    return { scale: tidy(at(1) - offset), offset: tidy(offset) };
  } catch {
    return null;
  }
}

export const isUnitOfSpeed = (unit: string): boolean => unit.trim() !== '' && conversionBetween(unit, 'm/s') !== null;
