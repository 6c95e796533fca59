/** Payloads written in one cell: hex in any dress, decimal bytes, binary digits. */
import type { DataForm } from './plan.ts';

const HEX_RUN = /^(0x)?([0-9a-f]{2})+h?$/i;
const HEX_BYTES = /^(0x)?[0-9a-f]{1,2}h?([\s,;|:._-]+(0x)?[0-9a-f]{1,2}h?)+$/i;
const HEX_PREFIXED = /^(0x[0-9a-f]{2})+$/i;
const DECIMAL_BYTES = /^\d{1,3}([\s,;|:._-]+\d{1,3})*$/;
const BINARY = /^(?:0b)?([01]{8}[\s_]?)+$/;
/** Brackets and quotes around, and a mark such as "x|" before. */
const BRACKETS = /^(?:[[({<"']+|x?[|:]\s*)|[\])}>"']+$/gi;

function undress(text: string): string {
  return text
    .replace(BRACKETS, '')
    .replace(/\$(?=[0-9a-f])/gi, '0x')
    .trim();
}

/** The bytes of a payload cell, or the reason why it has none. */
export function parsePayload(text: string, form: DataForm): number[] | string {
  const bare = undress(text);
  if (bare === '') return [];
  if (/^\d+([.,]\d+)?E[+-]?\d+$/i.test(bare) && /[.,+]/.test(bare)) {
    return 'a spreadsheet has turned the payload into a rounded number';
  }
  if (form === 'binary') return parseBinary(bare);
  if (form === 'decimal') return parseDecimal(bare);
  return parseHex(bare);
}

function parseHex(bare: string): number[] | string {
  if (HEX_PREFIXED.test(bare)) return pairs(bare.replace(/0x/gi, ''));
  if (HEX_RUN.test(bare)) return pairs(bare.replace(/^0x/i, '').replace(/h$/i, ''));
  if (HEX_BYTES.test(bare) || /^(0x)?[0-9a-f]h?$/i.test(bare)) {
    return bare.split(/[\s,;|:._-]+/).map((byte) => parseInt(byte.replace(/h$/i, ''), 16));
  }
  const groups = bare.split(/\s+/);
  if (groups.length > 1 && groups.every((group) => HEX_RUN.test(group)))
    return pairs(groups.join('').replace(/0x/gi, ''));
  if (/^(0x)?[0-9a-f]+$/i.test(bare)) return 'the payload has an odd number of hex digits';
  return 'the payload holds something other than hex digits';
}

const pairs = (digits: string): number[] =>
  Array.from({ length: digits.length / 2 }, (_each, i) => parseInt(digits.slice(2 * i, 2 * i + 2), 16));

function parseDecimal(bare: string): number[] | string {
  if (!DECIMAL_BYTES.test(bare)) return 'the payload holds something other than decimal bytes';
  const bytes = bare.split(/[\s,;|:._-]+/).map(Number);
  return bytes.every((byte) => byte <= 255) ? bytes : 'a byte of the payload is above 255';
}

function parseBinary(bare: string): number[] | string {
  const digits = bare.replace(/^0b/i, '').replace(/[\s_]/g, '');
  if (!/^[01]*$/.test(digits)) return 'the payload holds something other than binary digits';
  if (digits.length % 8) return 'the binary digits of the payload are no whole bytes';
  return Array.from({ length: digits.length / 8 }, (_each, i) => parseInt(digits.slice(8 * i, 8 * i + 8), 2));
}

/** Which way of writing fits one cell: several may. */
export function payloadForms(text: string): { hex: number; decimal: number; binary: number } {
  const bare = undress(text);
  const count = (form: DataForm): number => {
    const bytes = parsePayload(bare, form);
    return typeof bytes === 'string' ? -1 : bytes.length;
  };
  return { hex: count('hex'), decimal: count('decimal'), binary: BINARY.test(bare) ? count('binary') : -1 };
}
