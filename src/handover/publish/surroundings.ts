/**
 * How usual the characters of a candidate are beside it, in the frames and pages that it is of: a table of small values has many a half byte below ten, and
 * one of values about forty-eight many a digit. There a run of them is less against chance than among bits drawn evenly.
 */
import { isWordly, type Candidate } from './candidate.ts';
import type { Cell } from './cells.ts';
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

/** Cells of each stream by its place in the table. */
export type Surroundings = ReadonlyMap<number, ReadonlySet<Cell>>;

/** All cells that candidates are on: the pages of one reading may hold little beside the number. */
export function surroundingsOf(candidates: readonly Candidate[]): Surroundings {
  const cells = new Map<number, Set<Cell>>();
  for (const tape of new Set(candidates.map((each) => each.tape)))
    for (const cell of tape.cells) {
      const own = cells.get(cell.stream.index) ?? new Set();
      cells.set(cell.stream.index, own.add(cell));
    }
  return cells;
}

/** Whole bytes, or their halves, of all columns beside the candidate. */
function takeBytes({ tape, from, codes, alphabet }: Candidate, around: Surroundings, into: Values): void {
  const own = new Set<string>();
  const placeOf = ({ stream, value }: Cell, byte: number): string => `${stream.index} ${byte} ${value[byte]}`;
  for (let bit = from; bit < from + codes.length * alphabet.bits; bit++)
    own.add(placeOf(cellAt(tape, bit), placeAt(tape, bit) >> 3));
  for (const index of new Set(tape.cells.map(({ stream }) => stream.index)))
    for (const cell of around.get(index) ?? tape.cells)
      for (let byte = 0; byte < cell.still.length; byte++) {
        const isIndex = cell.page.some((held) => held.byte === byte);
        if (isIndex || cell.still[byte] !== 255 || own.has(placeOf(cell, byte))) continue;
        const held = cell.value[byte] as number;
        if (alphabet.bits === 8) into.take(`${index} ${byte}`, held);
        else [held & 15, held >> 4].forEach((half, at) => into.take(`${index} ${byte} ${at}`, half));
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
export function withSurroundings(candidate: Candidate, around: Surroundings): Candidate {
  const { tape, from, codes, kind, alphabet } = candidate;
  const { bits: width, characters } = alphabet;
  const isOf = kind === 'vehicle-number' ? isVehicleCharacter : isWordly;
  const fits = (value: number): boolean => isOf(characters[value] ?? '');
  const beside = new Values(fits);
  const isInBytes = tape.inBytes && from % width === 0;
  if (width === 4 || (width === 8 && isInBytes)) takeBytes(candidate, around, beside);
  else takeCodes(candidate, beside);
  if (beside.fitting === beside.all) return candidate;
  const even = characters.filter((_, value) => value > 0 && fits(value)).length / (characters.length - 1);
  const share = (beside.fitting + WEIGHT * even) / (beside.all + WEIGHT);
  const told = toldOn(tape, codes, from, width).filter(Boolean).length;
  return { ...candidate, bits: candidate.bits - told * Math.max(0, Math.log2(share / even)) };
}
