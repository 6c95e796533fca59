/**
 * What the identifiers of a bus have in common: one maker's frames share their style, and one rule guards many of them. A first look takes
 * every identifier by itself; what it is sure of makes the habits, and with these the doubtful ones are looked at once more. Plain data, so
 * that it travels to workers, and made of findings alone, so that whoever holds findings can make it.
 */
import { mayObey } from './checksums/lend-doubt.ts';
import { rulesOf, type RuleHabit } from './checksums/lend-habits.ts';
import type { FrameFindings } from './types.ts';

/** Of one bus. */
export interface BusHabits {
  readonly bus: string;
  /** What guards its identifiers, the commonest first. */
  readonly rules: readonly RuleHabit[];
}

/** By bus; a bus with nothing sure is not listed. */
export type Habits = readonly BusHabits[];

/** findings: of first looks, all identifiers of a capture. */
export function habitsOf(findings: readonly FrameFindings[]): Habits {
  const buses = [...new Set(findings.map(({ bus }) => bus))];
  return buses.flatMap((bus) => {
    const rules = rulesOf(findings.filter((each) => each.bus === bus));
    return rules.length > 0 ? [{ bus, rules }] : [];
  });
}

/** Whether a second look with these habits may say something else of the identifier. */
export function wantsAnotherLook(finding: FrameFindings, habits: Habits): boolean {
  const own = habits.find(({ bus }) => bus === finding.bus);
  return own !== undefined && mayObey(finding, own.rules);
}
