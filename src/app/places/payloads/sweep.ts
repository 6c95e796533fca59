/**
 * Sweeping over threads: a field between two threads, in either order. The ends are what the person chose; in
 * "big" order the run goes down the weave to its least significant bit, in "little" it climbs from the lower address.
 */
import type { ByteOrder, Placement } from '../../../frames/bits.ts';
import { bitPositions } from '../../../frames/bits.ts';

export interface Sweep {
  /** Where it began and where it is now: payload bits, byte * 8 + bit. */
  readonly anchor: number;
  readonly head: number;
}

/** Longest field that a number holds exactly. */
const LONGEST_FIELD = 53;

const addressOf = (position: number): { byte: number; bit: number } => ({ byte: position >> 3, bit: position & 7 });
/** Rank from top to bottom: byte 0 bit 7 is 0. */
const rankOf = (position: number): number => (position >> 3) * 8 + 7 - (position & 7);
const positionAtRank = (rank: number): number => (rank >> 3) * 8 + 7 - (rank & 7);

/** The field that has the two threads as its ends. Within one byte both orders are the same and written "little". */
export function placementBetween({ anchor, head }: Sweep, order: ByteOrder): Placement {
  if (anchor >> 3 === head >> 3 || order === 'little') {
    const low = Math.min(anchor, head);
    return { lsb: addressOf(low), length: Math.abs(anchor - head) + 1, order: 'little' };
  }
  const bottom = Math.max(rankOf(anchor), rankOf(head));
  return {
    lsb: addressOf(positionAtRank(bottom)),
    length: Math.abs(rankOf(anchor) - rankOf(head)) + 1,
    order: 'big',
  };
}

const isWholeBytes = (bits: readonly number[]): boolean => bits.length % 8 === 0 && ((bits[0] ?? 0) & 7) === 0;

/** The same bytes, or the same two ends, read in the other order. Fields in pieces stay as they are. */
export function otherOrder(placement: Placement): Placement {
  if (placement.continues?.length) return placement;
  const order: ByteOrder = placement.order === 'big' ? 'little' : 'big';
  const bits = bitPositions(placement);
  const low = bits[0] as number;
  const high = bits.at(-1) as number;
  if (low >> 3 === high >> 3) return placement;
  if (isWholeBytes(bits)) return { lsb: { byte: high >> 3, bit: 0 }, length: placement.length, order };
  return placementBetween({ anchor: low, head: high }, order);
}

/** The thread `steps` rows further down; stays inside the payload. */
export function stepThread(position: number, steps: number, bytes: number): number {
  const rank = Math.min(bytes * 8 - 1, Math.max(0, rankOf(position) + steps));
  return positionAtRank(rank);
}

/** Shortens a sweep from its head so that a number can hold the field. */
export function limitSweep(sweep: Sweep, order: ByteOrder): Sweep {
  let limited = sweep;
  while (placementBetween(limited, order).length > LONGEST_FIELD) {
    const down = rankOf(limited.head) > rankOf(limited.anchor);
    limited = { ...limited, head: positionAtRank(rankOf(limited.head) + (down ? -1 : 1)) };
  }
  return limited;
}
