/**
 * Whether the rules of a bus may say something else of an identifier than was found in it alone: nothing was found where a tag of theirs may lie,
 * or a rule that little speaks for, or a tag in a place that another rule of the bus makes likelier.
 */
import { bitPositions, type Placement } from '../../frames/bits.ts';
import type { MapChecksum } from '../../map/schema.ts';
import type { FrameFindings } from '../types.ts';
import { isSameSpot, isSolved, isSure, ruleOf, spotsOf, startOf, type RuleHabit } from './lend-habits.ts';

/** A tag moves at least this often, as a share of the frames in which the restless bits of the frame do. */
const RESTLESS_SHARE = 0.2;

/** A field as sure as this is no tag. */
const FIELD_SURE = 0.85;

/** Whether a tag may lie at one of the spots: a bit there changes about as often as others do, and no field is sure to lie there. */
function mayHoldTag({ bits, length, fields }: FrameFindings, habit: RuleHabit): boolean {
  const most = Math.max(...bits.changeShare);
  const wide = Math.max(1, habit.length / 8);
  const held = new Set(
    fields.filter(({ confidence }) => confidence >= FIELD_SURE).flatMap((field) => bitPositions(field as Placement)),
  );
  return habit.spots.some((spot) => {
    const first = startOf(spot, 0, length - 1, wide) * 8 + spot.bit;
    const own = Array.from({ length: habit.length }, (_, index) => first + index);
    const changes = Math.max(...own.map((at) => bits.changeShare[at] ?? 0));
    return changes > 0 && changes >= RESTLESS_SHARE * most && !own.some((at) => held.has(at));
  });
}

/** Of sums and exclusive ors any covered byte may be the tag: whether others of the bus have theirs elsewhere. */
function liesOddly(checksum: MapChecksum, length: number, rules: readonly RuleHabit[]): boolean {
  if (checksum.method !== 'sum' && checksum.method !== 'xor') return false;
  const own = JSON.stringify(ruleOf(checksum));
  const habit = rules.find(
    ({ spots: _spots, counters: _counters, frames: _frames, ...rule }) => JSON.stringify(rule) === own,
  );
  if (!habit) return rules.some(({ method, frames }) => (method === 'sum' || method === 'xor') && frames > 1);
  const here = spotsOf(checksum, length);
  const times = habit.spots.filter((spot) => here.some((each) => isSameSpot(each, spot))).map(({ frames }) => frames);
  return Math.max(...times) < Math.max(...habit.spots.map(({ frames }) => frames));
}

export function mayObey(finding: FrameFindings, rules: readonly RuleHabit[]): boolean {
  const { checksums, length } = finding;
  if (checksums.length === 0) return rules.some((habit) => mayHoldTag(finding, habit));
  // However sure it is that no rule was found here, one of the bus's needs far less to be told by.
  const mayBeSolved = ({ method }: MapChecksum): boolean => method === 'unsolved' && rules.some(isSolved);
  return checksums.some(
    (each) => (each.when ?? null) === null && (!isSure(each) || mayBeSolved(each) || liesOddly(each, length, rules)),
  );
}
