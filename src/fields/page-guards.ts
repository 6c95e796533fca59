/**
 * Guards that only some pages carry. On the other pages their bits stand still, so the pages on which an edge byte is
 * restless are read one after the other as a payload of their own: there the counter counts on and the rule holds.
 */
import type { Placement } from '../frames/bits.ts';
import type { MapChecksum, MapCounter, When } from '../map/schema.ts';
import { findChecksums } from './checksums/find.ts';
import { findUnsolved } from './checksums/unsolved.ts';
import { counterOf } from './counter-words.ts';
import { COUNTER_ROWS, COUNTER_STRETCHES, findCounters } from './counters.ts';
import { guardCounters } from './guard-counters.ts';
import { chainRows, movedMask, sampleRows, type PayloadRows } from './payload-rows.ts';
import { selectorValues } from './selector-finding.ts';
import type { Steps } from './steps.ts';
import type { Explained } from './types.ts';

export interface Guards {
  readonly counters: Explained<MapCounter>[];
  readonly checksums: Explained<MapChecksum>[];
}

/** Share of a page's visits at which a tag moves at least, and at which a byte without one moves at most. */
const RESTLESS = 0.5;
const STILL = 0.1;

/** Pages on which a byte moves at most visits, or null unless it stands still on all others. */
function restlessPages(rows: PayloadRows, pages: Float64Array, byte: number): Set<number> | null {
  const lastOf = new Map<number, { value: number; visits: number; moves: number }>();
  pages.forEach((page, row) => {
    const value = rows.data[row * rows.bytes + byte] as number;
    const own = lastOf.get(page);
    if (!own) return void lastOf.set(page, { value, visits: 0, moves: 0 });
    own.visits++;
    if (own.value !== value) own.moves++;
    own.value = value;
  });
  const restless = [...lastOf].filter(([, { visits, moves }]) => moves >= RESTLESS * visits);
  const still = [...lastOf].filter(([, { visits, moves }]) => moves <= STILL * visits);
  const divides = restless.length > 0 && still.length > 0 && restless.length + still.length === lastOf.size;
  return divides ? new Set(restless.map(([page]) => page)) : null;
}

/** free: [bytes] bits that move and are unclaimed; usable: those and the still ones. */
export function* guardsOfPages(
  rows: PayloadRows,
  selector: Placement & { readonly name: string },
  free: Uint8Array,
  usable: Uint8Array,
  id: number,
): Steps<Guards> {
  const pages = selectorValues(rows, selector);
  for (const byte of [rows.bytes - 1, 0]) {
    const guarded = free[byte] === 0 ? null : restlessPages(rows, pages, byte);
    if (!guarded) continue;
    const own: number[] = [];
    pages.forEach((page, row) => guarded.has(page) && own.push(row));
    const found = yield* guardsWithin(chainRows(rows, own), free, usable, id, {
      [selector.name]: [...guarded].sort((a, b) => a - b),
    });
    if (found.checksums.length > 0) return found;
  }
  return { counters: [], checksums: [] };
}

function* guardsWithin(rows: PayloadRows, free: Uint8Array, usable: Uint8Array, id: number, when: When): Steps<Guards> {
  const moved = movedMask(rows).map((bits, byte) => bits & (free[byte] as number));
  const found = yield* findCounters(sampleRows(rows, COUNTER_ROWS, COUNTER_STRETCHES), moved);
  const counters = found.map((counter) => counterOf(counter, when));
  const checksums = yield* findChecksums(rows, { id, usable, counters, when });
  const beside = yield* guardCounters(rows, moved, counters, checksums, when);
  const tag = checksums.length === 0 ? findUnsolved(rows, beside.counters, usable, when) : null;
  return { counters: beside.counters, checksums: tag ? [tag] : checksums };
}
