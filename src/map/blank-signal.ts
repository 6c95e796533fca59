/** A signal of which only its place is known: fresh lists, so that no two signals share them. */
import type { Placement } from '../frames/bits.ts';
import type { When } from './schema.ts';

/** Coding, kind and confidence are for the caller to say. */
export function blankSignal({ lsb, length, order, continues }: Placement, name: string, when: When = null) {
  return {
    name,
    lsb: { ...lsb },
    length,
    order,
    ...(continues ? { continues: continues.map((piece) => ({ ...piece, lsb: { ...piece.lsb } })) } : {}),
    role: 'unknown' as const,
    when,
    scale: 1,
    offset: 0,
    unit: '',
    observed: null,
    allowed: null,
    invalid: [],
    states: {},
    table: null,
    standing: 'guess' as const,
    sending: 'untested' as const,
    evidence: [],
    notes: '',
  };
}
