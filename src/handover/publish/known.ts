/**
 * Every place at which a number that is already known stands, in any packing and order: on tapes whole or in pieces long enough not to be chance, and in
 * single frames that change otherwise, byte by byte.
 */
import { ALPHABETS, codesOf, fillerCode, type Alphabet } from './alphabets.ts';
import { occurrenceOf, occurrenceOfBits } from './occurrence.ts';
import { codesOn, type Tape } from './tapes.ts';
import type { Occurrence } from './types.ts';

/** One way of writing a number as codes. */
interface Pattern {
  readonly alphabet: Alphabet;
  readonly codes: readonly number[];
}

const DIFFERENT_LEAST = 3;

/** Bits of a whole number, and of a piece of it, that are hardly met by chance among the some ten thousand still bits of a capture. */
const WHOLE_BITS = 24;
const PIECE_BITS = 32;
const PIECE_CHARACTERS = 4;
/** A value in binary has no characters to tell it by. */
const BINARY_BITS = 22;

const plainOf = (text: string): string => text.replace(/[^A-Za-z0-9]/g, '');
const groupsOf = (text: string): string[] => text.match(/\d{6,}/g) ?? [];

/** A number as it may be written: as given, in capitals, without what stands between, and long groups of its digits alone. */
function spellings(text: string): readonly string[] {
  const plain = plainOf(text);
  return [...new Set([text, text.toUpperCase(), plain, plain.toUpperCase(), ...groupsOf(plain)])].filter(
    (each) => each.length > 2,
  );
}

/** Whether a number is long enough to be told from chance in any packing. */
export const isLongEnough = (text: string): boolean => spellings(text).some((each) => patternsOf(each).length > 0);

/** Characters of a piece that is worth a find by itself; the whole where that is shorter. */
const pieceOf = ({ alphabet, codes }: Pattern): number =>
  Math.min(codes.length, Math.max(PIECE_CHARACTERS, Math.ceil(PIECE_BITS / alphabet.bits)));

/** All ways of writing it, but for those too short to be told from chance. */
function patternsOf(text: string): readonly Pattern[] {
  return ALPHABETS.flatMap((alphabet) => {
    const codes = codesOf(alphabet, text);
    if (!codes || codes.length * alphabet.bits < WHOLE_BITS || new Set(codes).size < DIFFERENT_LEAST) return [];
    // Hexadecimal digits that are all decimal are the decimal pattern again.
    if (alphabet.packing === 'hex-digits' && /^\d+$/.test(text)) return [];
    return [{ alphabet, codes }];
  });
}

/** Bits of a number's value, most significant first; null where it is no number or too small to be told from chance. */
function binaryOf(text: string): readonly number[] | null {
  if (!/^\d{6,20}$/.test(text)) return null;
  const bits = BigInt(text).toString(2);
  return bits.length >= BINARY_BITS ? [...bits].map(Number) : null;
}

interface Wanted {
  readonly patterns: readonly Pattern[];
  readonly binaries: readonly (readonly number[])[];
}

function wantedOf(secret: string): Wanted {
  const texts = spellings(secret);
  const binaries = texts.map(binaryOf).filter((bits) => bits !== null);
  return { patterns: texts.flatMap(patternsOf), binaries };
}

/** An occurrence of one of several numbers. */
export interface Seen {
  /** Place of the number in the list that was looked for. */
  readonly number: number;
  readonly occurrence: Occurrence;
}

interface Start {
  readonly number: number;
  readonly pattern: Pattern;
  readonly first: number;
}

const WIDTHS = [8, 7, 6, 4] as const;
const pairOf = (one: number, other: number): number => one * 256 + other;

/** Looks for several numbers on tapes at once. */
export class TapeSearch {
  /** By width, then by the first two codes of a piece. */
  readonly #starts = new Map<number, Map<number, Start[]>>(WIDTHS.map((width) => [width, new Map()]));
  readonly #binaries: readonly { readonly number: number; readonly bits: readonly number[] }[];

  constructor(secrets: readonly string[]) {
    const wanted = secrets.map(wantedOf);
    this.#binaries = wanted.flatMap(({ binaries }, number) => binaries.map((bits) => ({ number, bits })));
    wanted.forEach(({ patterns }, number) => {
      for (const pattern of patterns) this.#addStarts(number, pattern);
    });
  }

  #addStarts(number: number, pattern: Pattern): void {
    const { alphabet, codes } = pattern;
    const byPair = this.#starts.get(alphabet.bits) as Map<number, Start[]>;
    for (let first = 0; first + pieceOf(pattern) <= codes.length; first++) {
      const pair = pairOf(codes[first] as number, codes[first + 1] as number);
      byPair.set(pair, [...(byPair.get(pair) ?? []), { number, pattern, first }]);
    }
  }

  /** anywhere: characters may begin at any bit and be of six or seven bits. Linear in bits where pieces are rare. */
  on(tape: Tape, anywhere: boolean): readonly Seen[] {
    const found: Seen[] = [];
    for (const width of WIDTHS) {
      const starts = this.#starts.get(width) as Map<number, Start[]>;
      if (starts.size === 0 || (!anywhere && width !== 8 && width !== 4)) continue;
      for (let offset = 0; offset < (anywhere ? width : 1); offset++) {
        const codes = codesOn(tape, width, offset);
        for (let at = 0; at + 1 < codes.length; at++)
          for (const start of starts.get(pairOf(codes[at] as number, codes[at + 1] as number)) ?? [])
            this.#take(tape, offset, codes, at, start, found);
      }
    }
    for (const { number, bits } of this.#binaries)
      found.push(...binaryOnTape(tape, bits).map((occurrence) => ({ number, occurrence })));
    return found;
  }

  #take(
    tape: Tape,
    offset: number,
    read: Int16Array,
    at: number,
    { number, pattern, first }: Start,
    found: Seen[],
  ): void {
    const { alphabet, codes } = pattern;
    // A piece is taken from its beginning alone.
    if (at > 0 && first > 0 && read[at - 1] === codes[first - 1]) return;
    let length = 2;
    while (at + length < read.length && first + length < codes.length && read[at + length] === codes[first + length])
      length++;
    const piece = codes.slice(first, first + length);
    if (length < pieceOf(pattern) || new Set(piece).size < DIFFERENT_LEAST) return;
    found.push({ number, occurrence: occurrenceOf(tape, alphabet, offset + at * alphabet.bits, piece) });
  }
}

/** Occurrences of a value in binary, most or least significant bit first as the tape runs. */
function binaryOnTape(tape: Tape, bits: readonly number[]): Occurrence[] {
  const wanted = tape.lsbFirst ? bits.toReversed() : bits;
  const found: Occurrence[] = [];
  for (let from = 0; from + wanted.length <= tape.bits.length; from++) {
    if (!wanted.every((bit, index) => tape.bits[from + index] === bit)) continue;
    found.push(occurrenceOfBits(tape, 'binary', { from, was: wanted, becomes: wanted.map(() => 0) }));
  }
  return found;
}

/** One way of writing a number as whole bytes, for frames that are looked at one by one. */
export interface BytePattern {
  readonly packing: Occurrence['packing'];
  readonly was: Uint8Array;
  readonly becomes: Uint8Array;
}

function joined(high: readonly number[], low: readonly number[]): Uint8Array {
  return Uint8Array.from(high, (code, index) => (code << 4) | (low[index] as number));
}

/** Half bytes as bytes: beginning with either half, either half first. */
function digitBytes({ alphabet, codes }: Pattern): BytePattern[] {
  return [0, 1].flatMap((from) => {
    const pairs = Math.floor((codes.length - from) / 2);
    const [one, other] = [0, 1].map((half) =>
      Array.from({ length: pairs }, (_, index) => codes[from + 2 * index + half] as number),
    ) as [number[], number[]];
    const becomes = new Uint8Array(pairs);
    return [joined(one, other), joined(other, one)].map((was) => ({ packing: alphabet.packing, was, becomes }));
  });
}

function binaryBytes(bits: readonly number[]): BytePattern {
  const whole = Math.ceil(bits.length / 8);
  const padded = [...Array.from({ length: whole * 8 - bits.length }, () => 0), ...bits];
  const was = Uint8Array.from({ length: whole }, (_, byte) =>
    padded.slice(byte * 8, byte * 8 + 8).reduce((value, bit) => value * 2 + bit, 0),
  );
  return { packing: 'binary', was, becomes: new Uint8Array(whole) };
}

const reversed = ({ packing, was, becomes }: BytePattern): BytePattern => ({
  packing,
  was: was.toReversed(),
  becomes: becomes.toReversed(),
});

/** All ways of writing a number in whole bytes, of four at least, onward and backward. */
export function bytePatterns(secret: string): readonly BytePattern[] {
  const wanted = wantedOf(secret);
  const onward = wanted.patterns.flatMap((pattern): BytePattern[] => {
    const { alphabet, codes } = pattern;
    if (alphabet.bits === 4) return digitBytes(pattern);
    if (alphabet.bits !== 8) return [];
    return [
      {
        packing: 'text',
        was: Uint8Array.from(codes),
        becomes: Uint8Array.from(codes, (code) => fillerCode(alphabet, code)),
      },
    ];
  });
  return [...onward, ...wanted.binaries.map(binaryBytes)]
    .filter(({ was }) => was.length >= PIECE_CHARACTERS)
    .flatMap((pattern) => [pattern, reversed(pattern)]);
}
