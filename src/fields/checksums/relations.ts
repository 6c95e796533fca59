/**
 * Which places can hold a CRC at all. Each bit of a tag that is affine over GF(2) is, in the difference of two payloads, the exclusive or of some
 * other bits: a relation that all differences obey. The relations of a capture are the null space of its differences; a place at which they
 * leave one tag bit undetermined by bits outside holds no CRC, whatever its polynomial and coverage (elimination over GF(2); any textbook).
 * The two halves of the payloads are asked apart, so that one broken payload rules nothing out.
 */
import { emptyRow, Reduced, rowOf } from './elimination.ts';
import type { TagPlace } from './places.ts';

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
  for (const [a, b] of pairs) {
    const other = payloads[b] as Uint8Array;
    reduced.add(rowOf((payloads[a] as Uint8Array).map((bits, byte) => bits ^ (other[byte] as number))));
  }
  const bonds = reduced.bonds();
  const boundTo = (at: number): Uint32Array => {
    const bond = bonds.get(at);
    if (bond) return bond.slice();
    const free = emptyRow(bytes);
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
