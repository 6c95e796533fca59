/** A time as a person types it: "29.5", "0:29.5", "1:02:05", with decimal comma or true minus too. Null where it is no time. */
export function parseSeconds(text: string): number | null {
  const plain = text.trim().replace(',', '.').replace('\u2212', '-');
  const sign = plain.startsWith('-') ? -1 : 1;
  const parts = plain.replace(/^-/, '').split(':');
  if (parts.length > 3 || parts.some((part) => !/^\d*\.?\d*$/.test(part) || !/\d/.test(part))) return null;
  return sign * parts.map(Number).reduce((sum, part) => sum * 60 + part, 0);
}
