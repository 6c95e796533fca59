/** Elimination over GF(2) on rows of bits, 32 to a word (any textbook of linear algebra). */
const WORD_BITS = 32;

const bitOf = (row: Uint32Array, at: number): number => ((row[at >>> 5] as number) >>> (at & 31)) & 1;

function addTo(row: Uint32Array, other: Uint32Array): void {
  for (let word = 0; word < row.length; word++) row[word] = ((row[word] as number) ^ (other[word] as number)) >>> 0;
}

/** A row without a bit set, for so many bytes. */
export const emptyRow = (bytes: number): Uint32Array => new Uint32Array(Math.ceil((bytes * 8) / WORD_BITS));

/** Bytes as a row of words: bit b of byte B is bit B * 8 + b. */
export function rowOf(bytes: Uint8Array): Uint32Array {
  const row = emptyRow(bytes.length);
  bytes.forEach((bits, byte) => (row[byte >> 2]! |= bits << ((byte & 3) * 8)));
  return row;
}

const firstBit = (row: Uint32Array): number => {
  const word = row.findIndex((bits) => bits !== 0);
  return word < 0 ? -1 : word * WORD_BITS + 31 - Math.clz32((row[word] as number) & -(row[word] as number));
};

/** Rows in reduced echelon form by their first bit. */
export class Reduced {
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
