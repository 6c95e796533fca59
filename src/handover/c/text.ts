/** Text of a map inside C comments, and numbers as C literals. Nothing of a map ever becomes C code or a string literal. */

/** One line of plain ASCII that cannot end a comment, join lines or form a trigraph. */
export function commentText(text: string, most = 160): string {
  const plain = text
    .replaceAll('\u00b0', ' deg ')
    .replaceAll('\u2126', ' ohm ')
    .replace(/[^\x20-\x7e]+/g, ' ')
    .replaceAll('\\', '/')
    .replaceAll('*/', '* /')
    .replaceAll('/*', '/ *')
    .replace(/\?(?=\?)/g, '? ')
    .replace(/\s+/g, ' ')
    .trim();
  return plain.length > most ? `${plain.slice(0, most)} ...` : plain;
}

/** A double literal that reads back as the same double. */
export function doubleLiteral(value: number): string {
  const text = String(value);
  return /[.e]/.test(text) ? text : `${text}.0`;
}

/** An unsigned 64-bit literal. */
export function u64(value: bigint | number): string {
  return `UINT64_C(0x${BigInt(value).toString(16).toUpperCase()})`;
}

export const hexByte = (value: number): string => `0x${value.toString(16).toUpperCase().padStart(2, '0')}u`;
