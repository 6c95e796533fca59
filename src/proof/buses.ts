/**
 * Which bus of one recording is which of another: by the identifiers on them, so that adapter leads that were swapped
 * between two recordings do no harm.
 */
import type { FrameTable } from '../frames/table.ts';

/** Identifiers on each bus, extended ones told apart. Only what was received. */
export function identifiersByBus(table: FrameTable): Map<string, Set<string>> {
  const buses = new Map<string, Set<string>>(table.buses.map((bus) => [bus, new Set()]));
  for (const { bus, id, extended, direction } of table.streams) {
    if (direction === 'received') buses.get(bus)?.add(`${id}${extended ? 'x' : ''}`);
  }
  return buses;
}

/** Shared identifiers as a share of all on either bus. */
function overlap(a: ReadonlySet<string>, b: ReadonlySet<string>): number {
  const shared = [...a].filter((id) => b.has(id)).length;
  return shared === 0 ? 0 : shared / (a.size + b.size - shared);
}

/**
 * Matches buses by overlap, the best pair first, a common name breaking ties; every bus is used once. What `told` says
 * goes before. Null where nothing is shared.
 */
export function matchBuses(
  a: ReadonlyMap<string, ReadonlySet<string>>,
  b: ReadonlyMap<string, ReadonlySet<string>>,
  told: Readonly<Record<string, string>> = {},
): Map<string, string | null> {
  const matches = new Map<string, string | null>([...a.keys()].map((bus) => [bus, told[bus] ?? null]));
  const taken = new Set(Object.values(told));
  const pairs = [...a]
    .filter(([bus]) => told[bus] === undefined)
    .flatMap(([bus, ids]) => [...b].map(([other, others]) => ({ bus, other, score: overlap(ids, others) })))
    .filter(({ score }) => score > 0)
    .sort((x, y) => y.score - x.score || Number(y.bus === y.other) - Number(x.bus === x.other));
  for (const { bus, other } of pairs) {
    if (matches.get(bus) !== null || taken.has(other)) continue;
    matches.set(bus, other);
    taken.add(other);
  }
  return matches;
}
