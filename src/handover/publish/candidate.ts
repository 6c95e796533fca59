/** A run of characters on a tape that may be a number, and what all tests for one share. */
import type { Alphabet } from './alphabets.ts';
import { toldOn, type Tape } from './tapes.ts';
import type { Tries } from './tries.ts';
import type { NumberKind } from './types.ts';

export interface Candidate {
  readonly tape: Tape;
  readonly alphabet: Alphabet;
  /** First bit on the tape. */
  readonly from: number;
  readonly codes: readonly number[];
  readonly text: string;
  readonly kind: Extract<NumberKind, 'vehicle-number' | 'serial-number'>;
  readonly test: keyof Tries;
  readonly bits: number;
}

/** Longest stretches of indexes for which `holds`. */
export function stretches(length: number, holds: (index: number) => boolean, least: number): [number, number][] {
  const found: [number, number][] = [];
  for (let from = 0; from < length; from++) {
    if (!holds(from)) continue;
    let to = from + 1;
    while (to < length && holds(to)) to++;
    if (to - from >= least) found.push([from, to]);
    from = to;
  }
  return found;
}

export const isWordly = (character: string | undefined): boolean =>
  character !== undefined && /^[A-Za-z0-9]$/.test(character);

/** Characters that say something; the others are as on a page before, or empty. */
const TOLD_SHARE = 0.6;

/** Whether most of the characters say something by themselves: two pages in turn are one text however often they are read. */
export const isTold = (tape: Tape, codes: readonly number[], from: number, width: number): boolean =>
  toldOn(tape, codes, from, width).filter(Boolean).length >= TOLD_SHARE * codes.length;
