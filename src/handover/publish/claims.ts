/** Which bits of a capture are already part of a number, so that one number read in two ways is found once. */
import type { Candidate } from './candidates.ts';
import type { Cell } from './cells.ts';
import { cellAt, placeAt, type ByteRef } from './tapes.ts';
import { streamKeyText } from './types.ts';

/** So much of a candidate may belong to a number found before. */
const SHARED_MOST = 0.3;

interface Held {
  /** The number covers the place in all frames of the stream. */
  inAll: boolean;
  /** First frames of the pages in which it does. */
  readonly rows: Set<number>;
}

export class Claims {
  readonly #held = new Map<string, Held>();

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
    const held = this.#held.get(`${streamKeyText(cell.stream)} ${place}`);
    if (!held) return false;
    return held.inAll || cell.page.length === 0 || held.rows.has(cell.firstRow);
  }

  #add({ stream, page, firstRow }: Cell, place: number): void {
    const key = `${streamKeyText(stream)} ${place}`;
    const held = this.#held.get(key) ?? { inAll: false, rows: new Set() };
    if (page.length === 0) held.inAll = true;
    else held.rows.add(firstRow);
    this.#held.set(key, held);
  }
}
