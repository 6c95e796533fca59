/**
 * What the identifiers of a bus have in common: one maker's frames share their style, and one rule guards many of them. A first look takes
 * every identifier by itself; what it is sure of makes the habits, and with these the doubtful ones are looked at once more. Plain data, so
 * that it travels to workers, and made of findings alone, so that whoever holds findings can make it.
 */
import type { FrameFindings } from './types.ts';

/** Of one bus. */
export interface BusHabits {
  readonly bus: string;
}

/** By bus; a bus with nothing sure is not listed. */
export type Habits = readonly BusHabits[];

/** findings: of first looks, all identifiers of a capture. */
export function habitsOf(_findings: readonly FrameFindings[]): Habits {
  return [];
}

/** Whether a second look with these habits may say something else of the identifier. */
export function wantsAnotherLook(_finding: FrameFindings, _habits: Habits): boolean {
  return false;
}
