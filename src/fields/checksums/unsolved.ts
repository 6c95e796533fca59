/**
 * Tags that no rule explains. In a frame that counts, whole bytes that change like noise and belong to no value are a
 * guard: the same content and counter always with the same tag means a rule that was not found (`unsolved`), with
 * another tag each time a key or hidden state (`mac`), which no capture can show. Never a guess at the rule.
 */
import type { MapChecksum, MapCounter, MapUnclaimed } from '../../map/schema.ts';
import type { PayloadRows } from '../payload-rows.ts';
import type { Explained } from '../types.ts';

interface NoiseRun {
  readonly byte: number;
  bytes: number;
}

function wholeNoiseBytes(unclaimed: readonly MapUnclaimed[]): NoiseRun[] {
  const runs: NoiseRun[] = [];
  for (const { lsb, length, reason } of unclaimed) {
    if (reason !== 'noise' || length !== 8) continue;
    const last = runs.at(-1);
    if (last && last.byte + last.bytes === lsb.byte) last.bytes++;
    else runs.push({ byte: lsb.byte, bytes: 1 });
  }
  return runs;
}

interface Repeats {
  /** Rows whose other bytes had come before. */
  readonly seen: number;
  /** Of those, rows with the same tag as then. */
  readonly same: number;
}

const REPEATS_MAX = 20_000;

function compareRepeats(rows: PayloadRows, run: NoiseRun): Repeats {
  const tagOf = new Map<string, string>();
  let seen = 0;
  let same = 0;
  for (let row = 0; row < Math.min(rows.count, REPEATS_MAX); row++) {
    const payload = rows.data.subarray(row * rows.bytes, (row + 1) * rows.bytes);
    const tag = String.fromCharCode(...payload.subarray(run.byte, run.byte + run.bytes));
    const rest = String.fromCharCode(...payload.subarray(0, run.byte), ...payload.subarray(run.byte + run.bytes));
    const before = tagOf.get(rest);
    if (before !== undefined) {
      seen++;
      if (before === tag) same++;
    }
    tagOf.set(rest, tag);
  }
  return { seen, same };
}

/** Repeats of content without which nothing is said. */
const SEEN_MIN = 10;

/** At most one: the longest run of noise bytes. unclaimed: what the finders left over. */
export function findUnsolved(
  rows: PayloadRows,
  counters: readonly MapCounter[],
  unclaimed: readonly MapUnclaimed[],
): Explained<MapChecksum> | null {
  if (counters.length === 0) return null;
  const run = wholeNoiseBytes(unclaimed).sort((a, b) => b.bytes - a.bytes)[0];
  if (!run) return null;
  const { seen, same } = compareRepeats(rows, run);
  if (seen < SEEN_MIN) return null;
  const isRule = same >= 0.99 * seen;
  if (!isRule && same > 0.2 * seen) return null;
  return {
    lsb: { byte: run.byte, bit: 0 },
    length: run.bytes * 8,
    order: 'little',
    method: isRule ? 'unsolved' : 'mac',
    when: null,
    undetermined: [],
    confidence: Math.round(100 * (1 - 1 / (1 + Math.sqrt(seen)))) / 100,
    why: isRule
      ? `The same other bytes always come with the same value here (${same} of ${seen} repeats): a rule, but none of the known kinds.`
      : `The same other bytes come with another value here each time (${seen} repeats): a key or a hidden state is in it, which a capture cannot show.`,
  };
}
