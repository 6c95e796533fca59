/**
 * What a checksum is fitted on: distinct payloads, and the differences between pairs of them. In the difference of
 * two payloads every constant of an affine rule (start value, final value, secrets, identifier) cancels, so that
 * polynomial and coverage can be tried alone. Only differences that raise the rank test anything new; the rest
 * follows from them (see the published facts on recovery by linear algebra over GF(2)).
 */
import type { PayloadRows } from '../payload-rows.ts';
import { Reduced, rowOf } from './elimination.ts';
import { gatherRelations, type Relations } from './relations.ts';

export interface Evidence {
  readonly bytes: number;
  /** Distinct payloads, each [bytes]. */
  readonly payloads: readonly Uint8Array[];
  /** Indexes of payloads whose constants are alike: any two, or two of equal counter value. */
  readonly pairs: readonly (readonly [number, number])[];
  /** Exclusive or of the pairs that raise the rank, each [bytes]. */
  readonly differences: readonly Uint8Array[];
  /** [bytes] bits that differ in some pair. */
  readonly moved: Uint8Array;
  /** [bytes] bits of checksums already found in another part of the frame. */
  readonly taken: Uint8Array;
  /** What each half of the pairs says of the places that can hold a CRC. */
  readonly relations: readonly Relations[];
}

/** Distinct payloads that are read: enough that in either half of them each bit may move on its own. */
const PAYLOADS_MAX = 600;
const PAYLOADS_A_BYTE = 32;

const isFilling = (payload: Uint8Array): boolean =>
  payload.every((byte) => byte === 0xff) || payload.every((byte) => byte === 0);

/**
 * Distinct payloads, spread over the rows; payloads of all ones or all zeros are no data. Four rows are read in turn and
 * then some passed over, an odd number in all, so that every value of a counter is met.
 */
export function distinctPayloads(rows: PayloadRows): Uint8Array[] {
  const { bytes, data, count } = rows;
  const seen = new Set<string>();
  const found: Uint8Array[] = [];
  const most = Math.max(PAYLOADS_MAX, PAYLOADS_A_BYTE * bytes);
  const stride = Math.floor(count / (most * 4));
  const pass = stride > 1 ? (stride - 1) * 4 + 1 : 0;
  let read = 0;
  for (let row = 0; row < count && found.length < most; row += 1 + (++read % 4 === 0 ? pass : 0)) {
    const payload = data.subarray(row * bytes, row * bytes + bytes);
    const key = String.fromCharCode(...payload);
    if (seen.has(key) || isFilling(payload)) continue;
    seen.add(key);
    found.push(payload);
  }
  return found;
}

/** So many tell a rule beyond doubt; more of them only take longer. */
export const DIFFERENCES_MAX = 72;

/** How many of the differences are independent of each other where only the bits of `mask` ([bytes]) are looked at. */
export function rankWithin(differences: readonly Uint8Array[], mask: Uint8Array): number {
  const basis = new Reduced();
  return differences.filter((each) => basis.add(rowOf(each.map((bits, byte) => bits & (mask[byte] as number))))).length;
}

/** Evidence over pairs of payloads that share a class (a counter value); all share one where `classOf` is null. */
export function gatherEvidence(
  bytes: number,
  payloads: readonly Uint8Array[],
  classOf: ((payload: Uint8Array) => number) | null,
  taken: Uint8Array = new Uint8Array(bytes),
): Evidence {
  const lastOf = new Map<number, number>();
  const pairs: [number, number][] = [];
  const differences: Uint8Array[] = [];
  const moved = new Uint8Array(bytes);
  const basis = new Reduced();
  payloads.forEach((payload, index) => {
    const group = classOf ? classOf(payload) : 0;
    const before = lastOf.get(group);
    lastOf.set(group, index);
    if (before === undefined) return;
    pairs.push([before, index]);
    const other = payloads[before] as Uint8Array;
    const difference = payload.map((byte, i) => byte ^ (other[i] as number));
    difference.forEach((byte, i) => (moved[i] = (moved[i] as number) | byte));
    if (differences.length < DIFFERENCES_MAX && basis.add(rowOf(difference))) differences.push(difference);
  });
  return { bytes, payloads, pairs, differences, moved, taken, relations: gatherRelations(bytes, payloads, pairs) };
}
