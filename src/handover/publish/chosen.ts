/** What a capture shows by itself: runs of characters and digits that are hardly chance, each bit read as one number. */
import { checkpoint, type Control } from '../../kit/control.ts';
import type { Candidate } from './candidate.ts';
import { judgeTape } from './candidates.ts';
import type { Claims } from './claims.ts';
import type { Readings } from './readings.ts';
import { surroundingsOf, withSurroundings } from './surroundings.ts';
import { bitsNeeded, TriesCount, type Tries } from './tries.ts';

/** Of two readings of the same bits, a vehicle number is the more likely one by as much. */
const VEHICLE_FIRST = 10;

export async function judged(
  { readings }: Readings,
  control: Control,
): Promise<{ candidates: Candidate[]; tries: Tries }> {
  const tries = new TriesCount();
  const candidates: Candidate[] = [];
  for (const [index, reading] of readings.entries()) {
    if (index % 64 === 0) await checkpoint(control, index / readings.length, 'judging what never changes');
    candidates.push(...judgeTape(reading, tries));
  }
  return { candidates, tries };
}

/** The strongest first, each bit claimed once. */
export function chosen(candidates: readonly Candidate[], tries: Tries, claims: Claims): readonly Candidate[] {
  const isEnough = ({ test, bits }: Candidate): boolean => bits >= bitsNeeded(test, tries);
  const strong = candidates.filter(isEnough);
  const around = surroundingsOf(strong);
  const enough = strong.map((candidate) => withSurroundings(candidate, around)).filter(isEnough);
  const order = (candidate: Candidate): number =>
    (candidate.kind === 'vehicle-number' ? VEHICLE_FIRST : 0) + candidate.bits - bitsNeeded(candidate.test, tries);
  // Of equals the longer one: zeros that a number holds or ends with are no evidence, and of it none the less.
  const byOrder = (a: Candidate, b: Candidate): number =>
    Math.round(order(b)) - Math.round(order(a)) || b.codes.length - a.codes.length;
  return enough.sort(byOrder).filter((candidate) => claims.take(candidate));
}
