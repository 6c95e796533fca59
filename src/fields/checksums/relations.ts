/**
 * Which places can hold a CRC at all. Each bit of a tag that is affine over GF(2) is, in the difference of two payloads, the exclusive or of some
 * other bits: a relation that all differences obey. The relations of a capture are the null space of its differences; a place at which they
 * leave one tag bit undetermined by bits outside holds no CRC, whatever its polynomial and coverage (elimination over GF(2); any textbook).
 * The two halves of the payloads are asked apart, so that one broken payload rules nothing out.
 */
import type { TagPlace } from './places.ts';

const WORD_BITS = 32;

const bitOf = (row: Uint32Array, at: number): number => ((row[at >>> 5] as number) >>> (at & 31)) & 1;

function addTo(row: Uint32Array, other: Uint32Array): void {
  for (let word = 0; word < row.length; word++) row[word] = ((row[word] as number) ^ (other[word] as number)) >>> 0;
}

function pack(a: Uint8Array, b: Uint8Array): Uint32Array {
  const row = new Uint32Array(Math.ceil((a.length * 8) / WORD_BITS));
  a.forEach((bits, byte) => (row[byte >> 2]! |= (bits ^ (b[byte] as number)) << ((byte & 3) * 8)));
  return row;
}

const firstBit = (row: Uint32Array): number => {
  const word = row.findIndex((bits) => bits !== 0);
  return word < 0 ? -1 : word * WORD_BITS + 31 - Math.clz32((row[word] as number) & -(row[word] as number));
};

/** Rows in reduced echelon form by their first bit. */
class Reduced {
  private readonly rows = new Map<number, Uint32Array>();

  /** Whether the row raised the rank. */
  add(row: Uint32Array): boolean {
    for (const [pivot, own] of this.rows) if (bitOf(row, pivot)) addTo(row, own);
    const pivot = firstBit(row);
    if (pivot < 0) return false;
    for (const own of this.rows.values()) if (bitOf(own, pivot)) addTo(own, row);
    this.rows.set(pivot, row);
    return true;
  }

  /** [pivot] its row, without the pivots: how far the bit there is bound to bits that are free. */
  bonds(): Map<number, Uint32Array> {
    return new Map(
      [...this.rows].map(([pivot, row]) => {
        const bond = row.slice();
        bond[pivot >>> 5] = ((bond[pivot >>> 5] as number) & ~(1 << (pivot & 31))) >>> 0;
        return [pivot, bond];
      }),
    );
  }
}

export interface Relations {
  /** Whether relations bind every bit of the place to bits outside it. */
  readonly allow: (place: Pick<TagPlace, 'positions'>) => boolean;
}

function relationsOf(
  bytes: number,
  payloads: readonly Uint8Array[],
  pairs: readonly (readonly [number, number])[],
): Relations {
  const reduced = new Reduced();
  for (const [a, b] of pairs) reduced.add(pack(payloads[a] as Uint8Array, payloads[b] as Uint8Array));
  const bonds = reduced.bonds();
  const words = Math.ceil((bytes * 8) / WORD_BITS);
  const boundTo = (at: number): Uint32Array => {
    const bond = bonds.get(at);
    if (bond) return bond.slice();
    const free = new Uint32Array(words);
    free[at >>> 5] = (1 << (at & 31)) >>> 0;
    return free;
  };
  return {
    allow: ({ positions }) => {
      const own = new Reduced();
      return positions.every((at) => own.add(boundTo(at)));
    },
  };
}

/** Relations of the pairs' first and second half. pairs: indexes of payloads whose constants are alike. */
export function gatherRelations(
  bytes: number,
  payloads: readonly Uint8Array[],
  pairs: readonly (readonly [number, number])[],
): readonly Relations[] {
  const half = pairs.length >> 1;
  return [pairs.slice(0, half), pairs.slice(half)].map((own) => relationsOf(bytes, payloads, own));
}
