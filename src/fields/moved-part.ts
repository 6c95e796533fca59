/** The part of a place that moved: what a capture shows of a value. */
import { bitPositions, type Piece } from '../frames/bits.ts';
import { hasBit } from './mask.ts';

/** The part of a piece that moved, or null where nothing did. */
export function movedPart(piece: Piece, free: Uint8Array): Piece | null {
  const positions = bitPositions(piece);
  const moved = positions.map((at) => hasBit(free, at));
  const low = moved.indexOf(true);
  if (low < 0) return null;
  const length = moved.lastIndexOf(true) - low + 1;
  const [first, last] = [positions[low] as number, positions[low + length - 1] as number];
  const order: Piece['order'] = first >> 3 === last >> 3 ? 'little' : piece.order;
  return { lsb: { byte: first >> 3, bit: first & 7 }, length, order };
}
