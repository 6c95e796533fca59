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

/** At most one: the longest run that lies like a tag. usable: [bytes] bits that neither counters nor other findings hold. */
export function findUnsolved(
  rows: PayloadRows,
  counters: readonly MapCounter[],
  usable: Uint8Array,
  when: When,
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
  return null;
}
