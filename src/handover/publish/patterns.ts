/** All ways of writing a known number as codes, as a value in binary, and as whole bytes. */
import { ALPHABETS, codesOf, fillerCode, plainOf, type Alphabet } from './alphabets.ts';
import type { Occurrence } from './types.ts';

/** One way of writing a number as codes. */
export interface Pattern {
  readonly alphabet: Alphabet;
  readonly codes: readonly number[];
}

/** A piece of fewer different codes is a filling. */
export const DIFFERENT_LEAST = 3;

/** Bits of a whole number, and of a piece of it, that are hardly met by chance among the some ten thousand still bits of a capture. */
const WHOLE_BITS = 24;
const PIECE_BITS = 32;
const PIECE_CHARACTERS = 4;
/** A value in binary has no characters to tell it by. */
const BINARY_BITS = 22;

const groupsOf = (text: string): string[] => text.match(/\d{6,}/g) ?? [];

/** A number as it may be written: as given, in capitals, without what stands between, and long groups of its digits alone. */
export function spellings(text: string): readonly string[] {
  const plain = plainOf(text);
  return [...new Set([text, text.toUpperCase(), plain, plain.toUpperCase(), ...groupsOf(plain)])].filter(
    (each) => each.length > 2,
  );
}

/** Characters of a piece that is worth a find by itself; the whole where that is shorter. */
export const pieceOf = ({ alphabet, codes }: Pattern): number =>
  Math.min(codes.length, Math.max(PIECE_CHARACTERS, Math.ceil(PIECE_BITS / alphabet.bits)));

/** All ways of writing it, but for those too short to be told from chance. */
export function patternsOf(text: string): readonly Pattern[] {
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

export function wantedOf(secret: string): Wanted {
  const texts = spellings(secret);
  const binaries = texts.map(binaryOf).filter((bits) => bits !== null);
  return { patterns: texts.flatMap(patternsOf), binaries };
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
