/**
 * The rules that a bus lends: those that its identifiers obey, and their kin, which the same maker may have used beside them: the same polynomial with
 * another number of constant bytes behind, and plain sums and exclusive ors over a tag of the same width. Each has its share of one, so that the odds of a
 * chance fit, shared out over all, stay what they are for one rule.
 */
import { isSolved, type Rule, type RuleHabit } from './lend-habits.ts';
import { spotsOfBus } from './lend-spots.ts';

export interface LentRule {
  /** frames: 0 for kin. */
  readonly habit: RuleHabit;
  /** How likely a guarded identifier of the bus obeys it. */
  readonly share: number;
}

const SUFFIX_BYTES = [0, 1, 2];

const plain = (length: number, unit: Rule['unit']): Rule => ({
  method: 'xor',
  length,
  order: 'little',
  unit,
  carry: 'drop',
  complemented: false,
  poly: 0,
  reflected: false,
  suffixBytes: 0,
  byCounter: null,
});

function sumsOver(length: number): Rule[] {
  const own = plain(length, length < 8 ? 'nibble' : 'byte');
  const sum: Rule = { ...own, method: 'sum' };
  if (length < 8) return [own, sum];
  const carries = ['drop', 'end-around'] as const;
  return [own, ...carries.flatMap((carry) => [false, true].map((complemented) => ({ ...sum, carry, complemented })))];
}

const keyOf = ({ spots: _spots, counters: _counters, frames: _frames, ...rule }: RuleHabit): string =>
  JSON.stringify(rule);

export function lentRules(habits: readonly RuleHabit[]): LentRule[] {
  const solved = habits.filter(isSolved);
  const crcs = solved.filter(({ method }) => method === 'crc');
  const lengths = [4, 8].filter((length) => habits.some((habit) => habit.length === length));
  const rules: Rule[] = [
    ...crcs.flatMap((habit) => SUFFIX_BYTES.map((suffixBytes) => ({ ...habit, suffixBytes, byCounter: null }))),
    ...lengths.flatMap(sumsOver),
  ];
  const seen = new Set(solved.map(keyOf));
  const kin = rules.flatMap((rule): RuleHabit[] => {
    const { length } = rule;
    const counters = habits.flatMap((habit) => (habit.length === length ? habit.counters : []));
    const habit = { ...rule, spots: spotsOfBus(habits, length), counters, frames: 0 };
    const key = keyOf(habit);
    return seen.has(key) ? [] : (seen.add(key), [habit]);
  });
  const all = solved.reduce((sum, { frames }) => sum + frames, 1);
  return [
    ...solved.map((habit) => ({ habit, share: habit.frames / all })),
    ...kin.map((habit) => ({ habit, share: 1 / all / kin.length })),
  ];
}
