/**
 * Every place at which a number that is already known stands, in any packing and order: on tapes whole or in pieces long enough not to be chance.
 */
import { occurrenceOf, occurrenceOfBits } from './occurrence.ts';
import { DIFFERENT_LEAST, patternsOf, pieceOf, spellings, wantedOf, type Pattern } from './patterns.ts';
import { codesOn, type Tape } from './tapes.ts';
import type { Occurrence } from './types.ts';

/** Whether a number is long enough to be told from chance in any packing. */
export const isLongEnough = (text: string): boolean => spellings(text).some((each) => patternsOf(each).length > 0);

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

/** Bits of a piece in codes that are not zero: most still bits are empty. */
const PIECE_TOLD_BITS = 20;
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
    const told = piece.filter((code) => code > 0).length * alphabet.bits;
    if (length < codes.length && told < PIECE_TOLD_BITS) return;
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
