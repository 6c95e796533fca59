/** How many bits of a word of 32 are set. */
export function bitsSet(word: number): number {
  let bits = 0;
  for (let rest = word; rest !== 0; rest &= rest - 1) bits++;
  return bits;
}

/** The same of each byte. */
export const BITS_SET = Uint8Array.from({ length: 256 }, (_, byte) => bitsSet(byte));
