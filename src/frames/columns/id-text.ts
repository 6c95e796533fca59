/** Identifiers as text: "1A0", "0x18FEF100", "1A0h", "18FEF100x", "416". */
import type { IdForm } from './plan.ts';

export interface ParsedId {
  readonly id: number;
  /** Whether the text itself says so; null where it does not. */
  readonly extended: boolean | null;
}

const HEX_ID = /^(0x)?([0-9a-f]{1,8})(h|x|xh|hx)?$/i;
const EXTENDED_FLAG = 0x80000000;
const EXTENDED_MAX = 0x1fffffff;

/** Without brackets; other marks of hex digits as 0x. */
export function plainId(text: string): string {
  return text.replace(/^[[({<]\s*|\s*[\])}>]$/g, '').replace(/^[$#](?=[0-9a-f])/i, '0x');
}

/** The identifier, or the reason why the text is none. */
export function parseId(written: string, form: IdForm): ParsedId | string {
  const text = plainId(written);
  if (text === '') return 'no identifier';
  if (/^\d+([.,]\d+)?E[+-]?\d+$/i.test(text) && !/^\d+E\d+$/i.test(text)) {
    return 'a spreadsheet has turned the identifier into a rounded number; it cannot be recovered';
  }
  const parts = HEX_ID.exec(text);
  if (!parts && !/^\d+$/.test(text)) return 'the identifier cannot be read';
  const isHex = form !== 'decimal' || parts?.[1] !== undefined;
  if (!isHex && !/^\d+x?$/i.test(text)) return 'the identifier is not decimal, as the others are';
  const digits = parts?.[2] ?? text;
  const value = parseInt(isHex ? digits : text, isHex ? 16 : 10);
  const isMarked =
    /x/i.test(parts?.[3] ?? '') || (form === 'hex-wide' && digits.length === 8) || value >= EXTENDED_FLAG;
  const id = value >= EXTENDED_FLAG ? value - EXTENDED_FLAG : value;
  if (id > EXTENDED_MAX) return 'the identifier is beyond 29 bits';
  return { id, extended: isMarked ? true : null };
}
