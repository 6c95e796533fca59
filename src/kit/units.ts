/** Units and identifiers as the project writes them. Times carry their unit in the name: `timeUs`, `atS`, `periodMs`. */
export const MICROS_PER_SECOND = 1e6;

/** "0x1F4", "0x18FEF100": as the signal map writes identifiers. */
export function formatId(id: number): string {
  return '0x' + id.toString(16).toUpperCase();
}

/** "0A", "C218": upper-case hex of so many digits, without a prefix. */
export const hexDigits = (value: number, digits: number): string =>
  value.toString(16).toUpperCase().padStart(digits, '0');

/** As people read identifiers: three digits for base ones, eight for extended ones. */
export function displayId(id: number, extended: boolean): string {
  return '0x' + hexDigits(id, extended ? 8 : 3);
}
