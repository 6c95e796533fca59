/** Whether two finds are of one number: by its characters, or by the bits at which they stand. */
import { bitsSet } from '../../fields/bits-set.ts';
import { plainOf } from './alphabets.ts';
import { streamKeyText, type BlankRule, type Find, type Occurrence } from './types.ts';

const MERGED_LEAST = 6;

/** Whether one number is the other, or stands in it. */
export function isSameNumber(one: string, other: string): boolean {
  const [a, b] = [plainOf(one).toUpperCase(), plainOf(other).toUpperCase()];
  if (a === b) return true;
  return Math.min(a.length, b.length) >= MERGED_LEAST && (a.includes(b) || b.includes(a));
}

/** All readings of a find's bits as numbers. */
export const secretsOf = ({ secret, others = [] }: Pick<Find, 'secret' | 'others'>): readonly string[] =>
  [secret, ...others].filter((each) => each !== '');

/** So much of the smaller of two finds must stand at bits of the other. */
const SHARED_LEAST = 0.3;

const isOfStream = (one: BlankRule, other: BlankRule): boolean =>
  one.id === other.id && streamKeyText(one) === streamKeyText(other);

/** Bits that both write over in frames that may be the same: what they say of a frame does not contradict. */
function sharedBits(one: BlankRule, other: BlankRule): number {
  const contradict = one.holds.some(({ byte, mask, value }) =>
    other.holds.some((held) => held.byte === byte && ((held.value ^ value) & held.mask & mask) !== 0),
  );
  if (contradict) return 0;
  return one.writes.reduce(
    (bits, { byte, mask }) => bits + bitsSet(mask & (other.writes.find((written) => written.byte === byte)?.mask ?? 0)),
    0,
  );
}

const bitsOf = (rules: readonly BlankRule[]): number =>
  rules.reduce((all, { writes }) => all + writes.reduce((bits, { mask }) => bits + bitsSet(mask), 0), 0);

/** Whether one occurrence is another reading of the bits of the other. */
function overlap(one: Occurrence, other: Occurrence): boolean {
  const shared = one.rules
    .flatMap((rule) => other.rules.filter((each) => isOfStream(rule, each)).map((each) => sharedBits(rule, each)))
    .reduce((all, bits) => all + bits, 0);
  return shared > SHARED_LEAST * Math.min(bitsOf(one.rules), bitsOf(other.rules));
}

/** Whether any place of one find is another reading of a place of the other. */
export const standTogether = (one: readonly Occurrence[], other: readonly Occurrence[]): boolean =>
  one.some((each) => other.some((next) => overlap(each, next)));
