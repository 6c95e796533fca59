/**
 * Tags that no rule explains. In a frame that counts, whole bytes beside the counter or at an edge that change like a tag are one: the same
 * content and counter always with the same tag means a rule that was not found (`unsolved`), with another tag each time a key or hidden state
 * (`mac`), which no capture can show. Where content and counter hardly ever come again nothing is said. Never a guess at the rule.
 */
import type { Placement } from '../../frames/bits.ts';
import { bitPositions } from '../../frames/bits.ts';
import type { MapChecksum, MapCounter, When } from '../../map/schema.ts';
import { claim } from '../mask.ts';
import type { PayloadRows } from '../payload-rows.ts';
import type { Explained } from '../types.ts';
import { distinctPayloads } from './evidence.ts';
import type { RuleHabit } from './lend-habits.ts';
import { tagRuns, type TagRun } from './tag-bytes.ts';

interface Repeats {
  /** Rows whose other bytes had come before, with others in between. */
  readonly seen: number;
  /** Of those, rows with the same tag as then. */
  readonly same: number;
}

const REPEATS_MAX = 20_000;

const textOf = (bytes: Uint8Array): string => String.fromCharCode(...bytes);

function compareRepeats(rows: PayloadRows, run: TagRun): Repeats {
  const tagOf = new Map<string, string>();
  let [seen, same, last] = [0, 0, ''];
  for (let row = 0; row < Math.min(rows.count, REPEATS_MAX); row++) {
    const payload = rows.data.subarray(row * rows.bytes, (row + 1) * rows.bytes);
    const tag = textOf(payload.subarray(run.byte, run.byte + run.bytes));
    const rest = `${textOf(payload.subarray(0, run.byte))}${textOf(payload.subarray(run.byte + run.bytes))}`;
    const before = tagOf.get(rest);
    if (before !== undefined && (rest !== last || before !== tag)) {
      seen++;
      if (before === tag) same++;
    }
    tagOf.set(rest, tag);
    last = rest;
  }
  return { seen, same };
}

/** Repeats of content without which nothing is said: a share of one in four going the other way would show in ten with 0.94. */
const SEEN_MIN = 10;
const SAME_MIN = 0.99;

/** Whether so many tags came again as chance has it for one drawn anew each time. */
function isDrawnAnew({ seen, same }: Repeats, bytes: number): boolean {
  const expected = seen / 256 ** bytes;
  return same <= expected + 4 * Math.sqrt(expected) + 2;
}

/** Whether the tag follows the content and not the counter alone: what does the latter may as well be a list of pages. */
function followsContent(payloads: readonly Uint8Array[], run: TagRun, counters: readonly MapCounter[]): boolean {
  const free = new Uint8Array(payloads[0]?.length ?? 0).fill(0xff);
  for (const counter of counters) claim(free, counter as Placement);
  free.fill(0, run.byte, run.byte + run.bytes);
  const counting = free.map((bits, byte) => (byte >= run.byte && byte < run.byte + run.bytes ? 0 : ~bits & 0xff));
  const under = (payload: Uint8Array, mask: Uint8Array): string =>
    textOf(payload.map((bits, byte) => bits & mask[byte]!));
  const lastOf = new Map<string, Uint8Array>();
  let [pairs, other] = [0, 0];
  for (const payload of payloads) {
    const key = under(payload, counting);
    const before = lastOf.get(key);
    lastOf.set(key, payload);
    if (!before || under(before, free) === under(payload, free)) continue;
    pairs++;
    if (before.subarray(run.byte, run.byte + run.bytes).some((bits, at) => bits !== payload[run.byte + at])) other++;
  }
  return pairs >= SEEN_MIN && other >= 0.9 * pairs;
}

/** Tag and counter adjoin, or the tag lies at an edge (common practice, no source); a single byte must do both to be more than noise. */
function liesLikeTag(run: TagRun, counters: readonly MapCounter[], bytes: number): boolean {
  const end = run.byte + run.bytes;
  const atEdge = run.byte === 0 || end === bytes;
  const counting = new Set(counters.flatMap((counter) => bitPositions(counter as Placement).map((at) => at >> 3)));
  const atCounter = counting.has(run.byte - 1) || counting.has(end);
  return run.bytes === 1 ? atEdge && atCounter : atEdge || atCounter;
}

function verdictOf(repeats: Repeats, run: TagRun, follows: () => boolean): 'mac' | 'unsolved' | null {
  if (repeats.seen < SEEN_MIN) return null;
  if (repeats.same >= SAME_MIN * repeats.seen) return follows() ? 'unsolved' : null;
  return isDrawnAnew(repeats, run.bytes) ? 'mac' : null;
}

function whyOf(method: 'mac' | 'unsolved', { seen, same }: Repeats): string {
  if (method === 'mac')
    return (
      `The same other bytes, counter included, came again ${seen} times, and with another value here in ${seen - same} of them: ` +
      `a key or a hidden state is in it, which a capture cannot show.`
    );
  return (
    `The same other bytes, counter included, came again ${seen} times, and with the same value here in ${same} of them: ` +
    `a rule, but none of the known kinds.`
  );
}

/** A tag where others of the bus have theirs, with the counter where they have it; what little came again must not speak against it. */
function lentTag(
  habits: readonly RuleHabit[],
  runs: readonly TagRun[],
  counters: readonly MapCounter[],
  when: When,
  repeatsOf: (run: TagRun) => Repeats,
): Explained<MapChecksum> | null {
  for (const { method, length, frames, ...habit } of habits) {
    if (method !== 'mac' && method !== 'unsolved') continue;
    const bytes = length / 8;
    const byte = counters.flatMap((counter) =>
      habit.counters
        .filter((each) => each.bit === counter.lsb.bit && each.length === counter.length)
        .map(({ offset }) => counter.lsb.byte - offset),
    )[0];
    if (byte === undefined || !runs.some((run) => run.byte === byte && run.bytes === bytes)) continue;
    const repeats = repeatsOf({ byte, bytes });
    const differ = repeats.seen - repeats.same;
    if (method === 'mac' ? !isDrawnAnew(repeats, bytes) : differ > (1 - SAME_MIN) * repeats.seen) continue;
    const why =
      `It changes like a tag, and lies where ${frames} other identifier${frames === 1 ? '' : 's'} of the bus ` +
      `${frames === 1 ? 'has' : 'have'} ${method === 'mac' ? 'one with a key' : 'one of no known kind'}; ` +
      `the same other bytes came again ${repeats.seen} times here, with another value in ${differ} of them.`;
    const place = { lsb: { byte, bit: 0 }, length, order: 'little' as const };
    return { ...place, method, when, undetermined: [], confidence: LENT_SURE, why };
  }
  return null;
}
const LENT_SURE = 0.7;

/** At most one: the longest run that lies like a tag. usable: [bytes] bits that neither counters nor other findings hold. */
export function findUnsolved(
  rows: PayloadRows,
  counters: readonly MapCounter[],
  usable: Uint8Array,
  when: When,
  habits: readonly RuleHabit[] = [],
): Explained<MapChecksum> | null {
  if (counters.length === 0) return null;
  const left = usable.slice();
  for (const counter of counters) claim(left, counter as Placement);
  const payloads = distinctPayloads(rows);
  const runs = tagRuns(payloads, left).filter((run) => liesLikeTag(run, counters, rows.bytes));
  for (const run of runs.sort((a, b) => b.bytes - a.bytes)) {
    const repeats = compareRepeats(rows, run);
    const method = verdictOf(repeats, run, () => followsContent(payloads, run, counters));
    if (!method) continue;
    return {
      lsb: { byte: run.byte, bit: 0 },
      length: run.bytes * 8,
      order: 'little',
      method,
      when,
      undetermined: [],
      confidence: Math.round(100 * (1 - 1 / (1 + Math.sqrt(repeats.seen)))) / 100,
      why: whyOf(method, repeats),
    };
  }
  return lentTag(habits, runs, counters, when, (run) => compareRepeats(rows, run));
}
