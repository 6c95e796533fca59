/**
 * How far characters speak against chance: were the bits drawn evenly, a code of so many bits would be one of a class of characters only so often. A text
 * is taken as a few stretches of one class each; each further stretch costs what it takes to say where it begins.
 */
import { endsInDigits, hasVehicleShape, holdsCheckDigit } from './vehicle-number.ts';

const CLASSES: readonly { readonly of: RegExp; readonly size: number }[] = [
  { of: /[0-9]/, size: 10 },
  { of: /[A-Z]/, size: 26 },
  { of: /[A-Z0-9]/, size: 36 },
  { of: /[A-Za-z0-9 ./_*-]/, size: 68 },
];
const STRETCH_BITS = 4;

/**
 * Bits against chance of a text whose characters are codes of so many bits. told: which of them say something: a code of no bits set does not, as most still bits are empty,
 * whatever character that may be.
 */
export function textBits(text: string, told: readonly boolean[], width: number): number {
  let best = CLASSES.map(() => 0);
  for (const [index, character] of [...text].entries()) {
    if (!told[index]) continue;
    const changed = Math.max(...best) - STRETCH_BITS;
    best = CLASSES.map(({ of, size }, index) =>
      of.test(character) ? Math.max(best[index] as number, changed) + width - Math.log2(size) : -Infinity,
    );
  }
  return Math.max(...best) - 1;
}

const VEHICLE_CLASS = 33;

/** The same of 17 characters as a vehicle number; -Infinity where they are not of its shape. */
export function vehicleBits(text: string, told: readonly boolean[], width: number): number {
  if (!hasVehicleShape(text)) return -Infinity;
  const all = told.filter(Boolean).length;
  const toldLast = told.slice(-LAST_DIGITS).filter(Boolean).length;
  const check = holdsCheckDigit(text) ? Math.log2(11) - 1 : -1;
  const last = endsInDigits(text) ? toldLast * Math.log2(VEHICLE_CLASS / 10) - 1 : -1;
  return all * (width - Math.log2(VEHICLE_CLASS)) + check + last;
}
const LAST_DIGITS = 4;

/** Decimal digits in four bits; zeros tell nothing, and of the other values nine in fifteen are digits. */
export const digitBits = (told: readonly boolean[]): number => told.filter(Boolean).length * Math.log2(15 / 9);

const STEP_KINDS = 3;

/** Whether values are as mixed as those of a number: hardly fillings, small figures or round ones, and no row that goes up by one step. */
export function isMixed(values: ArrayLike<number>, kinds: number, mostShare = 0.5): boolean {
  const counts = new Map<number, number>();
  for (let i = 0; i < values.length; i++) counts.set(values[i] as number, (counts.get(values[i] as number) ?? 0) + 1);
  const steps = new Set<number>();
  for (let i = 1; i < values.length; i++) steps.add((values[i] as number) - (values[i - 1] as number));
  return counts.size >= kinds && steps.size >= STEP_KINDS && Math.max(...counts.values()) <= values.length * mostShare;
}
