/** How many bits of a byte are set. */
export const BITS_SET = Uint8Array.from({ length: 256 }, (_, byte) => {
  let bits = 0;
  for (let rest = byte; rest; rest &= rest - 1) bits++;
  return bits;
});
