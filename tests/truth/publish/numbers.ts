/** Numbers to plant: vehicle numbers, serial numbers of several makers' styles, long numbers of digits. All invented at random. */
import type { Random } from '../../../src/kit/random.ts';

const LETTERS = 'ABCDEFGHIJKLMNOPQRSTUVWXYZ';
const VEHICLE_LETTERS = 'ABCDEFGHJKLMNPRSTUVWXYZ';
const DIGITS = '0123456789';

const some = (random: Random, from: string, count: number): string =>
  Array.from({ length: count }, () => random.pick([...from])).join('');

/** ISO 3779: three for the maker, six that describe, eight that tell the vehicle, of which the last four to six are digits. One in two with the check digit of 49 CFR 565, worked out here on its own. */
export function drawVehicleNumber(random: Random): string {
  const digits = 4 + random.below(3);
  const text =
    some(random, VEHICLE_LETTERS, 3) +
    some(random, VEHICLE_LETTERS + DIGITS, 14 - digits) +
    some(random, DIGITS, digits);
  return random.next() < 0.5 ? withCheckDigit(text) : text;
}

function withCheckDigit(text: string): string {
  const value = (character: string): number => {
    if (DIGITS.includes(character)) return Number(character);
    return Number('12345678012345070923456789'[LETTERS.indexOf(character)]);
  };
  const weights = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];
  const sum = [...text].reduce((total, character, index) => total + value(character) * (weights[index] as number), 0);
  const check = sum % 11 === 10 ? 'X' : String(sum % 11);
  return text.slice(0, 8) + check + text.slice(9);
}

/** Eight to fourteen characters: digits behind letters, digits alone, or letters among digits. */
export function drawSerial(random: Random): string {
  const style = random.below(4);
  if (style === 0) return some(random, LETTERS, 2) + some(random, DIGITS, 6 + random.below(6));
  if (style === 1) return some(random, DIGITS, 8 + random.below(5));
  if (style === 2) return `${some(random, LETTERS, 3)}-${some(random, DIGITS, 7)}`;
  return some(random, DIGITS, 3) + some(random, LETTERS, 2) + some(random, DIGITS, 6);
}

/** Digits alone, as packed decimals hold them; the first is no zero. */
export const drawDigits = (random: Random, least: number, most: number): string =>
  some(random, '123456789', 1) + some(random, DIGITS, least - 1 + random.below(most - least + 1));
