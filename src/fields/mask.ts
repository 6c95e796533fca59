/** Payload bits as one byte mask a byte. */
import { bitPositions, type Placement } from '../frames/bits.ts';

/** Takes a placement's bits out of a mask; bits beyond the payload are passed over. */
export function claim(mask: Uint8Array, placement: Placement): void {
  for (const position of bitPositions(placement)) {
    if (position >= 0 && position < mask.length * 8) mask[position >> 3]! &= ~(1 << (position & 7));
  }
}
