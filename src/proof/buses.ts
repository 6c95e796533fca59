/**
 * Which bus of one recording is which of another: by the identifiers on them, so that adapter leads that were swapped
 * between two recordings do no harm. A gateway copies identifiers from bus to bus: what lies on several says the less of each.
 */
import type { FrameTable } from '../frames/table.ts';
import { idNumber } from '../map/identifiers.ts';
import type { MapFrame } from '../map/schema.ts';

type ByBus = ReadonlyMap<string, ReadonlySet<string>>;

/** Up to so many buses every assignment is tried; beyond, the best pair goes first. */
const TRIED_BUSES = 6;
/** A common name decides between assignments that are otherwise equal. */
const SAME_NAME = 1e-6;

/** Identifiers on each bus, extended ones told apart. Only what was received. */
export function identifiersByBus(table: FrameTable): Map<string, Set<string>> {
  const buses = new Map<string, Set<string>>(table.buses.map((bus) => [bus, new Set()]));
  for (const { bus, id, extended, direction } of table.streams) {
    if (direction === 'received') buses.get(bus)?.add(`${id}${extended ? 'x' : ''}`);
  }
  return buses;
}

/** The same of what a map or a survey describes; buses without a frame are not in it. */
export function identifiersOfMap({
  frames,
}: {
  readonly frames: readonly Pick<MapFrame, 'bus' | 'id' | 'extended'>[];
}): Map<string, Set<string>> {
  const buses = new Map<string, Set<string>>();
  for (const { bus, id, extended } of frames) {
    const ids = buses.get(bus) ?? new Set<string>();
    buses.set(bus, ids.add(`${idNumber(id)}${extended ? 'x' : ''}`));
  }
  return buses;
}

function timesListed(buses: ByBus): Map<string, number> {
  const times = new Map<string, number>();
  for (const ids of buses.values()) for (const id of ids) times.set(id, (times.get(id) ?? 0) + 1);
  return times;
}

/** Score of every pair of buses: the shared identifiers, each by how rare it is, as a share of all on either bus. */
function scores(a: ByBus, b: ByBus): (bus: string, other: string) => number {
  const [inA, inB] = [timesListed(a), timesListed(b)];
  const weight = (id: string): number => 1 / ((inA.get(id) ?? 1) * (inB.get(id) ?? 1));
  const sum = (ids: Iterable<string>): number => [...ids].reduce((total, id) => total + weight(id), 0);
  return (bus, other) => {
    const [one, two] = [a.get(bus) ?? new Set<string>(), b.get(other) ?? new Set<string>()];
    const shared = sum([...one].filter((id) => two.has(id)));
    return shared === 0 ? 0 : shared / (sum(one) + sum(two) - shared) + (bus === other ? SAME_NAME : 0);
  };
}

type Score = ReturnType<typeof scores>;
type Assignment = { readonly total: number; readonly pairs: readonly (readonly [string, string])[] };

function bestAssignment(buses: readonly string[], others: readonly string[], score: Score): Assignment {
  const [bus, ...rest] = buses;
  if (bus === undefined) return { total: 0, pairs: [] };
  let best = bestAssignment(rest, others, score);
  for (const other of others) {
    const own = score(bus, other);
    if (own === 0) continue;
    const after = bestAssignment(
      rest,
      others.filter((each) => each !== other),
      score,
    );
    if (own + after.total > best.total) best = { total: own + after.total, pairs: [[bus, other], ...after.pairs] };
  }
  return best;
}

function greedyAssignment(buses: readonly string[], others: readonly string[], score: Score): Assignment['pairs'] {
  const ranked = buses
    .flatMap((bus) => others.map((other) => ({ bus, other, own: score(bus, other) })))
    .filter(({ own }) => own > 0)
    .sort((x, y) => y.own - x.own);
  const taken = new Set<string>();
  return ranked.flatMap(({ bus, other }) => {
    if (taken.has(`a ${bus}`) || taken.has(`b ${other}`)) return [];
    taken.add(`a ${bus}`).add(`b ${other}`);
    return [[bus, other] as const];
  });
}

/**
 * Matches buses so that together they share the most, a common name breaking ties; every bus is used once. What `told` says
 * goes before. Null where nothing is shared.
 */
export function matchBuses(
  a: ByBus,
  b: ByBus,
  told: Readonly<Record<string, string>> = {},
): Map<string, string | null> {
  const matches = new Map<string, string | null>([...a.keys()].map((bus) => [bus, told[bus] ?? null]));
  const taken = new Set(Object.values(told));
  const buses = [...a.keys()].filter((bus) => told[bus] === undefined);
  const others = [...b.keys()].filter((other) => !taken.has(other));
  const score = scores(a, b);
  const few = Math.max(buses.length, others.length) <= TRIED_BUSES;
  const pairs = few ? bestAssignment(buses, others, score).pairs : greedyAssignment(buses, others, score);
  for (const [bus, other] of pairs) matches.set(bus, other);
  return matches;
}
