/** A stretch of codes on a tape as rules of what is written over, frame by frame. */
import { fillerCode, type Alphabet } from './alphabets.ts';
import type { Cell } from './cells.ts';
import { maskedBytes, setBit, type GatheredBits } from './masked-bytes.ts';
import { cellAt, placeAt, type Tape } from './tapes.ts';
import type { BlankRule, Occurrence, Packing } from './types.ts';

interface Written {
  readonly holds: GatheredBits;
  readonly writes: GatheredBits;
}

function ruleOf({ stream: { bus, id, extended, direction } }: Cell, { holds, writes }: Written): BlankRule {
  return { bus, id, extended, direction, holds: maskedBytes(holds), writes: maskedBytes(writes) };
}

/** [bits] as they are and as they become, from a bit of the tape on. */
export interface BitsOver {
  readonly from: number;
  readonly was: readonly number[];
  readonly becomes: readonly number[];
}

export function occurrenceOfBits(tape: Tape, packing: Packing, { from, was, becomes }: BitsOver): Occurrence {
  const byCell = new Map<Cell, Written>();
  was.forEach((bit, index) => {
    const cell = cellAt(tape, from + index);
    let written = byCell.get(cell);
    if (!written) {
      byCell.set(cell, (written = { holds: new Map(), writes: new Map() }));
      for (const { byte, mask, value } of cell.page) written.holds.set(byte, { mask, value });
    }
    setBit(written.holds, placeAt(tape, from + index), bit);
    setBit(written.writes, placeAt(tape, from + index), becomes[index] as number);
  });
  const rules = [...byCell].map(([cell, written]) => ruleOf(cell, written));
  return { packing, reach: tape.reach, rules };
}

const bitsOf = (codes: readonly number[], width: number, lsbFirst: boolean): number[] =>
  codes.flatMap((code) =>
    Array.from({ length: width }, (_, step) => (code >> (lsbFirst ? step : width - 1 - step)) & 1),
  );

export function occurrenceOf(tape: Tape, alphabet: Alphabet, from: number, codes: readonly number[]): Occurrence {
  const width = alphabet.bits;
  const becomes = codes.map((code) => fillerCode(alphabet, code));
  return occurrenceOfBits(tape, alphabet.packing, {
    from,
    was: bitsOf(codes, width, tape.lsbFirst),
    becomes: bitsOf(becomes, width, tape.lsbFirst),
  });
}
