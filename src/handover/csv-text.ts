/**
 * Cells of CSV files (RFC 4180). Text that a spreadsheet would take for a formula gets an apostrophe before it, which
 * spreadsheets show as plain text: names in a map come from strangers.
 */
const FORMULA_START = /^[=+\-@\t\r]/;
const NEEDS_QUOTES = /[",\n\r]/;

export function csvText(text: string): string {
  // Control characters other than line breaks have no place in a cell.
  const clean = text.replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f]/g, '\u00b7');
  const harmless = FORMULA_START.test(clean.trimStart()) || /^[\t\r\n]/.test(clean) ? `'${clean}` : clean;
  return NEEDS_QUOTES.test(harmless) ? `"${harmless.replaceAll('"', '""')}"` : harmless;
}

/**
 * A number as text, so that nothing of it is lost: 12 significant digits only where these differ from it by no more than `noise`, what the
 * arithmetic behind it may have left in its last bits (0.30000000000000004); else all digits that tell it from its neighbours.
 */
export function numberText(value: number, noise = Math.abs(value) * 2 ** -51): string {
  const text = String(value);
  if (text.length <= 15 || Number.isInteger(value)) return text;
  const short = Number(value.toPrecision(12));
  return Math.abs(short - value) <= noise ? String(short) : text;
}

/** Seconds with microseconds. */
export const timeText = (timeUs: number): string => (timeUs / 1e6).toFixed(6);
