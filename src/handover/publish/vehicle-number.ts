/**
 * Vehicle identification numbers: 17 characters of digits and capitals without I, O and Q (ISO 3779:2009). Where the ninth is a check digit (49 CFR
 * 565.15(c)) it holds by chance once in eleven; not every country asks for one, so it supports a find and is no condition.
 */
export const VEHICLE_CHARACTERS = 17;
const CHARACTER = /^[A-HJ-NPR-Z0-9]$/;
export const isVehicleCharacter = (character: string): boolean => CHARACTER.test(character);

/** 49 CFR 565.15 table III: letters' values; digits are their own. */
const VALUES: ReadonlyMap<string, number> = new Map(
  ['AJ', 'BKS', 'CLT', 'DMU', 'ENV', 'FW', 'GPX', 'HY', 'RZ'].flatMap((letters, index) =>
    [...letters].map((letter): [string, number] => [letter, letters === 'RZ' ? 9 : index + 1]),
  ),
);
/** 49 CFR 565.15 table IV: weight of each position, 0 for the check digit's own. */
const WEIGHTS = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];

/** The check digit that 17 characters ought to have at the ninth place. */
export function checkDigitOf(text: string): string {
  const sum = [...text].reduce(
    (total, character, index) => total + (VALUES.get(character) ?? Number(character)) * (WEIGHTS[index] as number),
    0,
  );
  return sum % 11 === 10 ? 'X' : String(sum % 11);
}

export const holdsCheckDigit = (text: string): boolean =>
  text.length === VEHICLE_CHARACTERS && text[8] === checkDigitOf(text);

/** Its last four characters are digits (ISO 3779:2009, of makers of 500 vehicles a year and more). */
export const endsInDigits = (text: string): boolean => /\d{4}$/.test(text);

/** Of the right length and alphabet, with letters and digits, and not one character over and over. */
export const hasVehicleShape = (text: string): boolean =>
  text.length === VEHICLE_CHARACTERS &&
  [...text].every(isVehicleCharacter) &&
  /[A-Z]/.test(text) &&
  (text.match(/\d/g) ?? []).length >= 3 &&
  new Set(text).size >= 6;
