/**
 * How usual the characters of a candidate are beside it, in the frames and pages that it is of: a table of small values has many a half byte below ten, and
 * one of values about forty-eight many a digit. There a run of them is less against chance than among bits drawn evenly.
 */
import { isWordly, type Candidate } from './candidate.ts';
import { cellAt, codesOn, placeAt, toldOn } from './tapes.ts';
import { isVehicleCharacter } from './vehicle-number.ts';

/** What is seen beside counts against so many values drawn evenly. */
const WEIGHT = 15;

/** Different values of each place that are not zero: what a page repeats says nothing new. */
class Values {
  readonly #fits: (value: number) => boolean;
  readonly #seen = new Set<string>();
  all = 0;
  fitting = 0;

  constructor(fits: (value: number) => boolean) {
    this.#fits = fits;
  }

  take(place: string, value: number): void {
    const key = `${place} ${value}`;
    if (value <= 0 || this.#seen.has(key)) return;
    this.#seen.add(key);
    this.all++;
    if (this.#fits(value)) this.fitting++;
  }
}

/** Whole bytes, or their halves, of all columns beside the candidate. */
function takeBytes({ tape, from, codes, alphabet }: Candidate, into: Values): void {
  const numbers = new Map(tape.cells.map((cell, index) => [cell, index]));
  const own = new Set<string>();
  for (let bit = from; bit < from + codes.length * alphabet.bits; bit++)
    own.add(`${numbers.get(cellAt(tape, bit))} ${placeAt(tape, bit) >> 3}`);
  for (const [number, { stream, still, value, page }] of tape.cells.entries())
    for (let byte = 0; byte < still.length; byte++) {
      const isIndex = page.some((held) => held.byte === byte);
      if (isIndex || still[byte] !== 255 || own.has(`${number} ${byte}`)) continue;
      const held = value[byte] as number;
      const place = `${stream.index} ${byte}`;
      if (alphabet.bits === 8) into.take(place, held);
      else [held & 15, held >> 4].forEach((half, at) => into.take(`${place} ${at}`, half));
    }
}

/** Characters that begin within bytes: the others on the tape. */
function takeCodes({ tape, from, codes, alphabet: { bits } }: Candidate, into: Values): void {
  const offset = from % bits;
  const first = (from - offset) / bits;
  codesOn(tape, bits, offset).forEach((code, index) => {
    const at = offset + index * bits;
    if (index < first || index >= first + codes.length)
      into.take(`${cellAt(tape, at).stream.index} ${placeAt(tape, at)}`, code);
  });
}

/** The candidate with its evidence as its surroundings leave it; what stands among nothing but its like is not one of a table by chance. */
export function withSurroundings(candidate: Candidate): Candidate {
  const { tape, from, codes, kind, alphabet } = candidate;
  const { bits: width, characters } = alphabet;
  const isOf = kind === 'vehicle-number' ? isVehicleCharacter : isWordly;
  const fits = (value: number): boolean => isOf(characters[value] ?? '');
  const beside = new Values(fits);
  const isInBytes = tape.inBytes && from % width === 0;
  if (width === 4 || (width === 8 && isInBytes)) takeBytes(candidate, beside);
  else takeCodes(candidate, beside);
  if (beside.fitting === beside.all) return candidate;
  const even = characters.filter((_, value) => value > 0 && fits(value)).length / (characters.length - 1);
  const share = (beside.fitting + WEIGHT * even) / (beside.all + WEIGHT);
  const told = toldOn(tape, codes, from, width).filter(Boolean).length;
  return { ...candidate, bits: candidate.bits - told * Math.max(0, Math.log2(share / even)) };
}
