/**
 * How a character is a code of so many bits. Seven bits: ASCII (ECMA-6). Six bits: three ways in use (common practice, no source):
 * ASCII less 32, the low six bits of ASCII, and digits and letters counted through from 0. Four bits: decimal digits, and hexadecimal ones.
 */
import type { Packing } from './types.ts';

export interface Alphabet {
  readonly name: string;
  readonly packing: Packing;
  readonly bits: 8 | 7 | 6 | 4;
  /** [2^bits] the character of each code; '' where there is none. */
  readonly characters: readonly string[];
}

const tableOf = (bits: number, of: (code: number) => string): readonly string[] =>
  Array.from({ length: 2 ** bits }, (_, code) => of(code));
const printed = (code: number): string => (code >= 0x20 && code <= 0x7e ? String.fromCharCode(code) : '');

const RANKED = '0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ';

export const ALPHABETS: readonly Alphabet[] = [
  { name: 'eight bits a character', packing: 'text', bits: 8, characters: tableOf(8, printed) },
  { name: 'seven bits a character', packing: 'seven-bit-text', bits: 7, characters: tableOf(7, printed) },
  {
    name: 'six bits a character, ASCII less 32',
    packing: 'six-bit-text',
    bits: 6,
    characters: tableOf(6, (code) => printed(code + 32)),
  },
  {
    name: 'six bits a character, the low bits of ASCII',
    packing: 'six-bit-text',
    bits: 6,
    characters: tableOf(6, (code) => printed(code < 32 ? code + 64 : code)),
  },
  {
    name: 'six bits a character, digits then letters',
    packing: 'six-bit-text',
    bits: 6,
    characters: tableOf(6, (code) => RANKED[code] ?? ''),
  },
  {
    name: 'a decimal digit in four bits',
    packing: 'decimal-digits',
    bits: 4,
    characters: tableOf(4, (code) => RANKED[code < 10 ? code : 36] ?? ''),
  },
  {
    name: 'a hexadecimal digit in four bits',
    packing: 'hex-digits',
    bits: 4,
    characters: tableOf(4, (code) => RANKED[code] ?? ''),
  },
];

export const DECIMAL = ALPHABETS.find(({ packing }) => packing === 'decimal-digits') as Alphabet;

/** The codes of a text; null where one of its characters has none. Six-bit codes know no small letters: these count as capitals. */
export function codesOf({ characters, bits }: Alphabet, text: string): readonly number[] | null {
  const codes = [...(bits < 7 ? text.toUpperCase() : text)].map((character) => characters.indexOf(character));
  return codes.includes(-1) ? null : codes;
}

/** Its letters and digits alone. */
export const plainOf = (text: string): string => text.replace(/[^A-Za-z0-9]/g, '');

const isDigit = (character: string): boolean => character >= '0' && character <= '9';
const isLetter = (character: string): boolean => /^[a-z]$/i.test(character);

/** What stands in place of a character: of the same length and kind, and nothing else of it. */
export function fillerOf(character: string): string {
  if (isDigit(character)) return '0';
  return isLetter(character) ? (character >= 'a' ? 'x' : 'X') : character;
}

/** The code that stands in place of one; hexadecimal digits become 0 as their letters are digits too. */
export function fillerCode(alphabet: Alphabet, code: number): number {
  if (alphabet.bits === 4) return 0;
  return alphabet.characters.indexOf(fillerOf(alphabet.characters[code] ?? ''));
}

/** The text with each letter and digit in it filled. */
export const filledText = (text: string): string => [...text].map(fillerOf).join('');
