/**
 * Which counters guard a frame, once its checksums are known. A checksum goes with one counter, in its own byte or beside it (common practice, no
 * source): what counts there is taken for it though it did not come round, or steps only when the frame says something new; what else
 * steps evenly in a short frame, such as the number of a page, is none.
 */
import { bitPositions, crossesByte, type Placement } from '../frames/bits.ts';
import type { MapChecksum, MapCounter, When } from '../map/schema.ts';
import { distinctPayloads } from './checksums/evidence.ts';
import { coveredBytes } from './checksums/judge.ts';
import { tagRuns } from './checksums/tag-bytes.ts';
import { goesOnBeside, restOf } from './beside-counter.ts';
import { areNews, changesOf } from './changes.ts';
import { counterOf } from './counter-words.ts';
import { COUNTER_ROWS, COUNTER_STRETCHES, findCounters } from './counters.ts';
import { aheadOf } from './counters-in-step.ts';
import { both, holds, leftBy } from './mask.ts';
import { sampleRows, type PayloadRows } from './payload-rows.ts';
import type { CounterBits } from './selector-candidates.ts';
import type { Steps } from './steps.ts';
import type { Explained } from './types.ts';
import { besideTags, rampsBeside, wideCounters } from './unrounded-counters.ts';

/** Repeats without which one that steps on a change is no other than one that steps at every frame. */
const REPEATS_MIN = 0.02;

/** Counters that step when the frame says something new, and then only. near: [bytes] bits that may count; among: those that may say something. */
function* onChange(
  rows: PayloadRows,
  near: Uint8Array,
  checksums: readonly MapChecksum[],
  among: Uint8Array,
  when: When,
): Steps<{ readonly found: Explained<MapCounter>[]; readonly changes: PayloadRows }> {
  const changes = changesOf(rows, among);
  const tags = checksums as unknown as Placement[];
  yield rows.count;
  if (changes.count > (1 - REPEATS_MIN) * rows.count) return { found: [], changes };
  const found = yield* findCounters(sampleRows(changes, COUNTER_ROWS, COUNTER_STRETCHES), near);
  const counting = found.filter(
    (each) =>
      each.length > 1 &&
      !crossesByte(each) &&
      each.every === 1 &&
      areNews(changes, both(among, restOf(rows.bytes, each, tags))),
  );
  return { found: counting.map((each) => counterOf(each, when, true)), changes };
}

const allBits = ({ bytes }: PayloadRows): Uint8Array => new Uint8Array(bytes).fill(0xff);

/** Whole bytes that change like a tag: one that is drawn anew with each frame says nothing new. */
const likeTags = (rows: PayloadRows): Placement[] =>
  tagRuns(distinctPayloads(rows), allBits(rows)).map(({ byte, bytes }) => ({
    lsb: { byte, bit: 0 },
    length: bytes * 8,
    order: 'little',
  }));

/**
 * One that steps on a change where no rule is known: nothing but its own steps speak for it, so it runs through many values and is no number of a page.
 * What changes like a tag is left out at a second look: a tag that comes anew with a frame sent again hides that nothing else changed.
 */
function* onChangeAlone(rows: PayloadRows, left: Uint8Array, when: When): Steps<Explained<MapCounter>[]> {
  const tags = likeTags(rows);
  for (const out of tags.length > 0 ? [[], tags] : [[]]) {
    const among = leftBy(allBits(rows), out);
    const { found, changes } = yield* onChange(rows, both(left, among), [], among, when);
    const likely = found.filter(
      (each) => valuesIn(each) >= OWN_VALUES && isFull(each) && goesOnBeside(changes, each as Placement, out),
    );
    if (likely.length > 0) return likely.sort(byLikelihood).slice(0, 1);
  }
  return [];
}

/** Where no rule is known: what steps on a change, or beside bytes that change like a tag what counts and did not come round. */
function* hiddenAlone(rows: PayloadRows, left: Uint8Array, when: When): Steps<Explained<MapCounter>[]> {
  const onNews = yield* onChangeAlone(rows, left, when);
  if (onNews.length > 0) return onNews;
  const like = likeTags(rows);
  const tags = like.filter(({ length }) => length >= TAG_BITS_MIN);
  const ramps = tags.length > 0 ? yield* rampsBeside(rows, left, tags, when) : [];
  const whole = ramps.filter(({ length, every }) => length >= BYTE_BITS - 1 && every === 1);
  return whole.length > 0 ? whole : yield* wideCounters(rows, left, like, when);
}
/** Of drawn bits so many are no value's noise; beside them what fills a byte, but for its highest bit, at a step a frame is a counter. */
const TAG_BITS_MIN = 16;
const BYTE_BITS = 8;

/** Counters within a byte beside the tags that did not come round, or that step only when the frame changes. */
function* hiddenBeside(
  rows: PayloadRows,
  left: Uint8Array,
  checksums: readonly MapChecksum[],
  among: Uint8Array,
  when: When,
): Steps<Explained<MapCounter>[]> {
  const beside = besideTags(checksums as unknown as Placement[], rows.bytes);
  const near = left.map((bits, byte) => (beside[byte] === true ? bits : 0));
  const unrounded = yield* rampsBeside(rows, left, checksums as unknown as Placement[], when);
  if (unrounded.length > 0) return unrounded;
  const wide = yield* wideCounters(rows, left, checksums as unknown as Placement[], when);
  if (wide.length > 0) return wide;
  return (yield* onChange(rows, near, checksums, among, when)).found;
}

/** Through fewer values than this a page number counts as well. */
const OWN_VALUES = 8;
const SHORT_FRAME = 8;

const valuesIn = ({ min, max }: Explained<MapCounter>): number => max - min + 1;
/** From 0 or 1 to the last value of its bits, or the last but one. */
const isFull = ({ min, max, length }: Explained<MapCounter>): boolean => min <= 1 && max >= 2 ** length - 2;

/** The likelier guard first: what runs through many values, and through all that its bits allow; then the steadier and longer. */
const byLikelihood = (a: Explained<MapCounter>, b: Explained<MapCounter>): number =>
  Number(valuesIn(b) >= OWN_VALUES) - Number(valuesIn(a) >= OWN_VALUES) ||
  Number(isFull(b)) - Number(isFull(a)) ||
  b.confidence - a.confidence ||
  b.length - a.length;

export interface GuardCounters {
  readonly counters: Explained<MapCounter>[];
  /** Of these, the ones that a checksum goes with beyond doubt: no selector. */
  readonly sure: readonly Explained<MapCounter>[];
  /** Less likely ones of a frame without a tag, for where a likelier one is the number of its pages. */
  readonly instead?: readonly Explained<MapCounter>[];
}

/** The likeliest beside each tag; a second one that is as likely leaves it in doubt. */
function choose(
  rows: PayloadRows,
  counters: readonly Explained<MapCounter>[],
  checksums: readonly MapChecksum[],
): GuardCounters {
  const chosen: Explained<MapCounter>[] = [];
  const sure: Explained<MapCounter>[] = [];
  for (const rule of checksums) {
    const beside = besideTags([rule as Placement], rows.bytes);
    const near = counters
      .filter((each) => bitPositions(each as Placement).some((at) => beside[at >> 3]))
      .sort(byLikelihood);
    const [first, second] = near;
    if (!first || chosen.includes(first)) continue;
    chosen.push(first);
    const isClear = !second || valuesIn(first) >= OWN_VALUES !== valuesIn(second) >= OWN_VALUES;
    if (isClear && isFull(first) && goesOnBeside(rows, first as Placement, checksums as unknown as Placement[]))
      sure.push(first);
  }
  // Each part of a frame beside its own tag: the number of a page is written once.
  const ruleOf = ({ length, step, every, min, max }: Explained<MapCounter>): string =>
    [length, step, every, min, max].join();
  const isInEach = chosen.length > 1 && new Set(chosen.map(ruleOf)).size === 1;
  return { counters: chosen, sure: isInEach ? chosen : sure };
}

/**
 * Of counters without a checksum beside them; in a short frame one, with all places where it is written again, and rather one beside which the frame
 * goes on than the number of its page. One that is written in several places is
 * no number of a page.
 */
function withoutTag(rows: PayloadRows, counters: readonly Explained<MapCounter>[]): GuardCounters {
  const ranked = [...counters].sort(byLikelihood);
  const likeliest = ranked[0];
  // A bit of a tag goes on beside the counter too: it takes its place only with many values, or as many.
  const goesOn = (each: Explained<MapCounter>): boolean =>
    goesOnBeside(rows, each as Placement, ranked.filter((other) => other !== each) as unknown as Placement[]);
  const better =
    likeliest && ranked.length > 1 && !goesOn(likeliest)
      ? ranked.find((each) => valuesIn(each) >= Math.min(valuesIn(likeliest), OWN_VALUES) && goesOn(each))
      : undefined;
  if (better) ranked.unshift(...ranked.splice(ranked.indexOf(better), 1));
  const [first, ...others] = ranked;
  if (!first) return { counters: [], sure: [] };
  const ahead = others.map((each) => aheadOf(rows, each as CounterBits, first as CounterBits));
  const inStep = others.filter((_, index) => ahead[index] !== null);
  // A second one that is ahead may as well be the sum over the first.
  const copies = inStep.length + 1 >= COPIES_MIN ? inStep : others.filter((_, index) => ahead[index] === 0);
  const written = [first, ...copies];
  return {
    counters: rows.bytes <= SHORT_FRAME ? written : ranked,
    sure: written.length >= COPIES_MIN ? written : [],
    instead: others.filter((each) => !written.includes(each)),
  };
}
const COPIES_MIN = 3;

/** [bytes] all bits of the bytes that a rule covers and of its tag's. */
function partOf(rule: MapChecksum, bytes: number): Uint8Array {
  const part = new Uint8Array(bytes);
  for (const byte of coveredBytes(rule)) part[byte] = 0xff;
  for (const at of bitPositions(rule as Placement)) part[at >> 3] = 0xff;
  return part;
}

/** Where parts of a frame are guarded apart and one has its counter: another's may step with what is new in all parts, counters apart, or in its own. */
function* withHiddenOfParts(
  rows: PayloadRows,
  left: Uint8Array,
  chosen: GuardCounters,
  checksums: readonly MapChecksum[],
  when: When,
): Steps<GuardCounters> {
  const counters = [...chosen.counters];
  const sure = [...chosen.sure];
  for (const rule of checksums) {
    const part = partOf(rule, rows.bytes);
    if (counters.some(({ lsb }) => part[lsb.byte] !== 0)) continue;
    const others = [...counters, ...checksums.filter((each) => each !== rule)] as unknown as Placement[];
    for (const among of [leftBy(allBits(rows), others), part]) {
      const hidden = yield* hiddenBeside(rows, both(left, part), [rule], among, when);
      const found = choose(rows, hidden, [rule]);
      counters.push(...found.counters);
      sure.push(...found.sure);
      if (hidden.length > 0) break;
    }
  }
  return { counters, sure };
}

/**
 * free: [bytes] bits that move and that nothing else holds; counters: what counts in them; checksums: what was found then.
 */
export function* guardCounters(
  rows: PayloadRows,
  free: Uint8Array,
  counters: readonly Explained<MapCounter>[],
  checksums: readonly MapChecksum[],
  when: When,
): Steps<GuardCounters> {
  const left = leftBy(free, checksums as unknown as Placement[]);
  const apart = counters.filter((counter) => holds(left, counter as Placement));
  if (checksums.length === 0) return withoutTag(rows, apart.length > 0 ? apart : yield* hiddenAlone(rows, left, when));
  const chosen = choose(rows, apart, checksums);
  if (checksums.length > 1 && chosen.counters.length > 0)
    return yield* withHiddenOfParts(rows, left, chosen, checksums, when);
  if (chosen.counters.length > 0) return chosen;
  const hidden = yield* hiddenBeside(rows, left, checksums, allBits(rows), when);
  if (hidden.length > 0) return choose(rows, hidden, checksums);
  return withoutTag(rows, apart);
}
