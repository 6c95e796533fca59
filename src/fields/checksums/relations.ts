/**
 * Which places can hold a CRC at all, and over what. Each bit of a tag that is affine over GF(2) is, in the difference of two payloads, the
 * exclusive or of some other bits: a relation that all differences obey. The relations of a capture are the null space of its differences; a
 * place at which they leave one tag bit undetermined by bits outside holds no CRC, whatever its polynomial and coverage, and the bits that
 * determine the others are covered (elimination over GF(2); any textbook). The two halves of the payloads are asked apart, so that one broken
 * payload rules nothing out.
 */
import { emptyRow, Reduced, rowOf } from './elimination.ts';
import type { TagPlace } from './places.ts';

/** What a tag leans on, as [bytes] masks of bits outside it. */
export interface Leaning {
  /** Bits that take part in some bit of the tag. */
  readonly on: Uint8Array;
  /** Bits that move on their own; all others are still or follow from these. */
  readonly own: Uint8Array;
}

export interface Relations {
  /** Exclusive or of pairs of payloads, those that raise the rank, each [bytes]. */
  readonly differences: readonly Uint8Array[];
  /** Whether relations bind every bit of the place to bits outside it. */
  readonly allow: (place: Pick<TagPlace, 'positions'>) => boolean;
  /** What the tag leans on, of equal bits those nearest to it; null where one of its bits is bound to nothing. */
  readonly leaning: (place: Pick<TagPlace, 'positions'>) => Leaning | null;
  /** The same for the tag's lowest bit alone and such bits of each byte as are in `columns`. */
  readonly lowestLeaning: (place: Pick<TagPlace, 'positions'>, columns: number) => Leaning | null;
}

/** Bytes in order of their distance from the nearest of some positions. */
function nearestFirst(bytes: number, positions: readonly number[]): number[] {
  const held = positions.map((at) => at >> 3);
  const distance = Array.from({ length: bytes }, (_, byte) => Math.min(...held.map((own) => Math.abs(own - byte))));
  return [...distance.keys()].sort((a, b) => distance[a]! - distance[b]!);
}

function leaningOf(
  bytes: number,
  differences: readonly Uint8Array[],
  tag: readonly number[],
  lowest = tag.length,
  columns = 0xff,
): Leaning | null {
  const order = nearestFirst(bytes, tag);
  const positions = tag.slice(0, lowest);
  const outside = new Uint8Array(bytes).fill(columns);
  for (const at of tag) outside[at >> 3]! &= ~(1 << (at & 7));
  const reduced = new Reduced();
  for (const difference of differences) {
    const row = new Uint8Array(bytes + Math.ceil(positions.length / 8));
    order.forEach((byte, to) => (row[to] = difference[byte]! & outside[byte]!));
    positions.forEach(
      (at, index) => (row[bytes + (index >> 3)]! |= ((difference[at >> 3]! >> (at & 7)) & 1) << (index & 7)),
    );
    reduced.add(rowOf(row));
  }
  const [on, own] = [new Uint8Array(bytes), new Uint8Array(bytes)];
  for (const [pivot, bond] of reduced.bonds()) {
    if (pivot >= bytes * 8) return null;
    const byte = order[pivot >> 3] as number;
    own[byte]! |= 1 << (pivot & 7);
    const takesPart = positions.some((_, index) => {
      const at = bytes * 8 + index;
      return ((bond[at >>> 5]! >>> (at & 31)) & 1) === 1;
    });
    if (takesPart) on[byte]! |= 1 << (pivot & 7);
  }
  return { on, own };
}

function relationsOf(
  bytes: number,
  payloads: readonly Uint8Array[],
  pairs: readonly (readonly [number, number])[],
): Relations {
  const reduced = new Reduced();
  const differences: Uint8Array[] = [];
  for (const [a, b] of pairs) {
    const other = payloads[b] as Uint8Array;
    const difference = (payloads[a] as Uint8Array).map((bits, byte) => bits ^ (other[byte] as number));
    if (reduced.add(rowOf(difference))) differences.push(difference);
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
    differences,
    allow: ({ positions }) => {
      const own = new Reduced();
      return positions.every((at) => own.add(boundTo(at)));
    },
    leaning: ({ positions }) => leaningOf(bytes, differences, positions),
    lowestLeaning: ({ positions }, columns) => leaningOf(bytes, differences, positions, 1, columns),
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
