/**
 * Whether identifiers are written in hex or in decimal. Letters or 0x settle it; where there are only
 * digits, the two readings are compared by how likely the digits would be under each.
 */
import { baseInHeading } from './words.ts';
import { plainId } from './id-text.ts';
import type { IdForm } from './plan.ts';

export interface IdFormGuess {
  readonly form: IdForm;
  readonly words: string;
}

export function guessIdForm(heading: string, cells: readonly string[]): IdFormGuess {
  const texts = [...new Set(cells.filter((cell) => cell !== '').map(plainId))];
  const bare = texts.filter((text) => !/^0x/i.test(text));
  if (bare.length === 0) return hexOf(texts, 'written with 0x');
  if (bare.some((text) => /^\d*[a-f][0-9a-f]*[hx]*$/i.test(text) || /h$/i.test(text)))
    return hexOf(texts, 'hex letters occur');
  const named = baseInHeading(heading);
  if (named)
    return named === 'hex'
      ? hexOf(texts, 'the heading says hex')
      : { form: 'decimal', words: 'the heading says decimal' };
  const digits = bare.filter((text) => /^\d+x?$/i.test(text)).map((text) => text.replace(/x$/i, ''));
  if (digits.some((text) => /^0\d/.test(text))) return hexOf(texts, 'padded with zeros as hex usually is');
  const evidence = digits.reduce((sum, text) => sum + decimalEvidence(text), HEX_IS_USUAL);
  if (evidence > 0)
    return { form: 'decimal', words: `${digits.length} identifiers without one hex letter fit decimal better` };
  return hexOf(texts, 'digits only; hex is usual and fits');
}

/** Natural log of the odds before looking. */
const HEX_IS_USUAL = -2;

/** Natural log of how much likelier one text is when written in decimal than in hex. */
function decimalEvidence(text: string): number {
  const asDecimal = Number(text);
  const asHex = parseInt(text, 16);
  const possibleDecimal = asDecimal <= 0x1fffffff;
  const possibleHex = asHex <= 0x1fffffff;
  if (!possibleHex) return 10;
  if (!possibleDecimal) return -10;
  // Six hex digits in sixteen are letters; round identifiers make the last digit count less.
  const withoutLetters = (text.length - 1) * -Math.log(10 / 16);
  // Base identifiers are far commoner than extended ones of only four to seven digits.
  const asBase = asDecimal <= 0x7ff && asHex > 0x7ff ? 3 : 0;
  // Half of all decimal base identifiers have four digits.
  const shortDecimal = text.length <= 3 ? -Math.log(2) : 0;
  return withoutLetters * 0.7 + asBase + shortDecimal;
}

/** Eight digits mean "extended" only where others are written with fewer. */
function hexOf(texts: readonly string[], words: string): IdFormGuess {
  const widths = new Set(texts.map((text) => text.replace(/^0x/i, '').replace(/[hx]+$/i, '').length));
  const isWide = widths.has(8) && [...widths].some((width) => width <= 3);
  return isWide ? { form: 'hex-wide', words: `${words}; eight digits mean extended` } : { form: 'hex', words };
}
