/**
 * Whether the rules of a bus may say something else of an identifier than was found in it alone: nothing was found where a tag of theirs may lie,
 * or a rule that little speaks for, or a tag in a place that another rule of the bus makes likelier.
 */
import { bitPositions, type Placement } from '../../frames/bits.ts';
import type { MapChecksum } from '../../map/schema.ts';
import type { FrameFindings } from '../types.ts';
import {
  isSameRule,
  isSameSpot,
  isSolved,
  isSure,
  ruleOf,
  spotsOf,
  startOf,
  type RuleHabit,
  type TagSpot,
} from './lend-habits.ts';
import { bytesOf, isSymmetric, meant, spotsOfBus } from './lend-spots.ts';

/** A tag moves at least this often, as a share of the frames in which the restless bits of the frame do. */
const RESTLESS_SHARE = 0.2;

/** A field as sure as this is no tag, where it moved so often: where a few payloads alone are known, a tag is as surely one span. */
const FIELD_SURE = 0.85;
const FIELD_MOVES = 16;

/** Whether a tag may lie at one of the spots: a bit there changes about as often as others do, and no field is sure to lie there; a copy moves as any field. */
function mayHoldTag({ bits, length, fields }: FrameFindings, habit: RuleHabit, rules: readonly RuleHabit[]): boolean {
  const isCopy = habit.method === 'copy';
  const spots = isCopy ? [...habit.spots, ...spotsOfBus(rules, habit.length)] : habit.spots;
  const most = Math.max(...bits.changeShare);
  const wide = bytesOf(habit.length);
  const movesOf = (at: number): number => (bits.changeShare[at] ?? 0) * bits.frames;
  const held = new Set(
    fields
      .filter(({ confidence }) => confidence >= FIELD_SURE)
      .map((field) => bitPositions(field as Placement))
      .filter((own) => own.some((at) => movesOf(at) >= FIELD_MOVES))
      .flat(),
  );
  return spots.some((spot) => {
    const first = startOf(spot, 0, length - 1, wide) * 8 + spot.bit;
    const own = Array.from({ length: habit.length }, (_, index) => first + index);
    const changes = Math.max(...own.map((at) => bits.changeShare[at] ?? 0));
    if (isCopy) return changes > 0;
    return changes > 0 && changes >= RESTLESS_SHARE * most && !own.some((at) => held.has(at));
  });
}

/** Of such rules any covered byte may be the tag: whether others with the rule, or others of the bus, have theirs elsewhere. */
function liesOddly(checksum: MapChecksum, length: number, rules: readonly RuleHabit[]): boolean {
  const rule = ruleOf(checksum);
  if (!isSymmetric(rule)) return false;
  const wide = bytesOf(checksum.length);
  const alike = rules.filter((each) => isSameRule(each, rule)).flatMap(({ spots }) => spots);
  return [alike, spotsOfBus(rules, checksum.length)].some((spots) => {
    const timesAt = (spot: TagSpot): number =>
      meant(spot, wide) * spots.reduce((times, each) => times + (isSameSpot(each, spot) ? each.frames : 0), 0);
    return Math.max(...spotsOf(checksum, length).map(timesAt)) < Math.max(...spots.map(timesAt));
  });
}

export function mayObey(finding: FrameFindings, rules: readonly RuleHabit[]): boolean {
  const { length } = finding;
  // A value that is written once more turned over guards itself alone.
  const checksums = finding.checksums.filter(
    ({ method }) => method !== 'copy' || rules.some((rule) => rule.method === method),
  );
  if (checksums.length === 0) return rules.some((habit) => mayHoldTag(finding, habit, rules));
  // However sure it is that no rule was found here, one of the bus's needs far less to be told by.
  const mayBeSolved = ({ method }: MapChecksum): boolean => method === 'unsolved' && rules.some(isSolved);
  return checksums.some(
    (each) => (each.when ?? null) === null && (!isSure(each) || mayBeSolved(each) || liesOddly(each, length, rules)),
  );
}
