/**
 * Numbers in what people and programs wrote: found by their shape, and written over wherever they stand, with other or no signs between their characters.
 * A text tells more than bits do, so here a word in front of it is enough for a serial number.
 */
import { filledText, plainOf } from './alphabets.ts';
import { hasVehicleShape, holdsCheckDigit, endsInDigits } from './vehicle-number.ts';

export interface TextNumber {
  readonly kind: 'vehicle-number' | 'serial-number';
  readonly text: string;
}

const WORDS = /[A-Za-z0-9]+/g;
const NAMED =
  /\b(?:serial(?:\s+(?:number|no))?|s\/n|sn|vin|chassis(?:\s+(?:number|no))?)\b\.?\s*[:#=]?\s*([A-Za-z0-9][A-Za-z0-9./-]{3,39})/gi;

/** Numbers in a text, by their shape or by the word before them. */
export function numbersIn(text: string): readonly TextNumber[] {
  const vehicles = (text.match(WORDS) ?? []).filter(
    (word) => hasVehicleShape(word.toUpperCase()) && (holdsCheckDigit(word.toUpperCase()) || endsInDigits(word)),
  );
  const serials = [...text.matchAll(NAMED)]
    .map(([, word = '']) => word.replace(/[./-]+$/, ''))
    .filter((word) => (word.match(/\d/g) ?? []).length >= 3 && !vehicles.includes(word));
  return [
    ...vehicles.map((word): TextNumber => ({ kind: 'vehicle-number', text: word })),
    ...serials.map((word): TextNumber => ({ kind: 'serial-number', text: word })),
  ];
}

const escaped = (text: string): string => text.replace(/[.*+?^${}()|[\]\\/-]/g, '\\$&');
const PIECE_LEAST = 6;
const WHOLE_LEAST = 4;

/** The characters one behind the other, with at most one sign or space between. */
const spaced = (plain: string): string => [...plain].map(escaped).join('[\\s./_:-]?');

/** Pieces of a number: in what was found on its pages and frames its beginning or end may stand alone. */
function piecesOf(plain: string): string[] {
  const pieces: string[] = [];
  for (let length = plain.length - 1; length >= PIECE_LEAST; length--)
    pieces.push(plain.slice(0, length), plain.slice(-length));
  return pieces;
}

export interface TextBlanker {
  (text: string): { readonly text: string; readonly times: number };
}

/**
 * Writes over every one of the numbers in a text, longest first: letters become X, digits 0, all else stays. Numbers of fewer than four characters
 * are looked for in no text.
 */
export function textBlanker(secrets: readonly string[]): TextBlanker {
  const plains = [...new Set(secrets.map(plainOf))].filter((plain) => plain.length >= WHOLE_LEAST);
  const wanted = [...new Set(plains.flatMap((plain) => [plain, ...piecesOf(plain)]))].sort(
    (a, b) => b.length - a.length,
  );
  if (wanted.length === 0) return (text) => ({ text, times: 0 });
  const pattern = new RegExp(wanted.map(spaced).join('|'), 'gi');
  return (text) => {
    let times = 0;
    const blanked = text.replace(pattern, (match) => {
      const filled = filledText(match);
      if (filled !== match) times++;
      return filled;
    });
    return { text: blanked, times };
  };
}
