/**
 * Whether bits are but the low end of a longer number: where they come round, the bit above them turns, and nowhere else
 * (carrying, common arithmetic). Such bits take turns like pages, and the rest of their own number looks as if they decided on it.
 */
import type { Piece } from '../frames/bits.ts';
import type { PayloadRows } from './payload-rows.ts';

/** Times that bits must come round for this to be judged. */
const ROUNDS_MIN = 6;
/** Share of the rounds at which the bit above turns, and share of its turns that come with a round. */
const CARRIED = 0.85;

/** Positions of the bit that is next above, in either order. */
function above({ lsb, length }: Piece, bytes: number): readonly number[] {
  const top = lsb.byte * 8 + lsb.bit + length - 1;
  if ((top & 7) < 7) return [top + 1];
  return [top + 1, (top & ~7) - 8].filter((at) => at >= 0 && at < bytes * 8);
}

/** values: [rows] the piece's own. */
export function carriesOn({ bytes, data, count }: PayloadRows, piece: Piece, values: Uint8Array): boolean {
  const half = 2 ** (piece.length - 1);
  return above(piece, bytes).some((at) => {
    const [byte, bit] = [at >> 3, at & 7];
    const rounds = { up: 0, down: 0 };
    const carried = { up: 0, down: 0 };
    let turns = 0;
    for (let row = 1; row < count; row++) {
      const step = (values[row] as number) - (values[row - 1] as number);
      const own = row * bytes + byte;
      const turned = (((data[own] as number) ^ (data[own - bytes] as number)) >> bit) & 1;
      turns += turned;
      if (Math.abs(step) < half) continue;
      const way = step < 0 ? 'up' : 'down';
      rounds[way]++;
      carried[way] += turned;
    }
    return (['up', 'down'] as const).some(
      (way) => rounds[way] >= ROUNDS_MIN && carried[way] >= CARRIED * Math.max(rounds[way], turns),
    );
  });
}
