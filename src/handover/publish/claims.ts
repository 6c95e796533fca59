/** Which bits of a capture are already part of a number, so that one number read in two ways is found once. */
import type { Candidate } from './candidate.ts';
import type { Cell } from './cells.ts';
import { cellAt, placeAt, type ByteRef } from './tapes.ts';
import { streamKeyText } from './types.ts';

/** So much of a candidate may belong to a number found before. */
const SHARED_MOST = 0.3;

/** Whether some frames may be of both cells: no bit never moved in both and differs. */
function mayMeet(one: Cell, other: Cell): boolean {
  const bytes = Math.min(one.still.length, other.still.length);
  for (let byte = 0; byte < bytes; byte++) {
    const still = (one.still[byte] as number) & (other.still[byte] as number);
    if ((((one.value[byte] as number) ^ (other.value[byte] as number)) & still) !== 0) return false;
  }
  return true;
}

export class Claims {
  readonly #held = new Map<string, Cell[]>();

  hold(refs: readonly ByteRef[]): void {
    for (const { cell, byte } of refs) for (let bit = 0; bit < 8; bit++) this.#add(cell, byte * 8 + bit);
  }

  /** Claims a candidate's bits, but for one that shares too many. */
  take({ tape, from, codes, alphabet }: Candidate): boolean {
    const end = from + codes.length * alphabet.bits;
    let shared = 0;
    for (let bit = from; bit < end; bit++) if (this.#has(cellAt(tape, bit), placeAt(tape, bit))) shared++;
    if (shared > SHARED_MOST * (end - from)) return false;
    for (let bit = from; bit < end; bit++) this.#add(cellAt(tape, bit), placeAt(tape, bit));
    return true;
  }

  #has(cell: Cell, place: number): boolean {
    return (this.#held.get(`${streamKeyText(cell.stream)} ${place}`) ?? []).some((held) => mayMeet(held, cell));
  }

  #add(cell: Cell, place: number): void {
    const key = `${streamKeyText(cell.stream)} ${place}`;
    const held = this.#held.get(key);
    if (held) held.push(cell);
    else this.#held.set(key, [cell]);
  }
}
