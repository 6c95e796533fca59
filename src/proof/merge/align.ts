/** The second map in the words of the first: buses by the identifiers on them, sender groups by their members. */
import { frameKey } from '../../map/identifiers.ts';
import type { SignalMap } from '../../map/schema.ts';
import { identifiersOfMap, matchBuses } from '../buses.ts';
import { renamed } from './canonical.ts';

type Names = ReadonlyMap<string, string>;

/** Buses without a frame as well. */
const identifiers = (map: SignalMap): Map<string, Set<string>> =>
  new Map([...map.buses.map(({ name }) => [name, new Set<string>()] as const), ...identifiersOfMap(map)]);

/** Second map's bus -> merged map's. A bus that meets none of the first keeps its name, or gets a free one. */
export function busNames(first: SignalMap, second: SignalMap, told: Readonly<Record<string, string>> = {}): Names {
  const [own, other] = [identifiers(first), identifiers(second)];
  const matched = matchBuses(other, own, told);
  const taken = new Set(own.keys());
  return new Map(
    [...matched].map(([bus, match]): [string, string] => {
      let name = match ?? bus;
      for (let n = 2; match === null && taken.has(name); n++) name = `${bus}-${n}`;
      taken.add(name);
      return [bus, name];
    }),
  );
}

export function withBusNames(map: SignalMap, names: Names): SignalMap {
  if ([...names].every(([from, to]) => from === to)) return map;
  const of = (bus: string): string => names.get(bus) ?? bus;
  return {
    ...map,
    buses: map.buses.map((bus) => ({ ...bus, name: of(bus.name) })),
    frames: map.frames.map((frame) => ({ ...frame, bus: of(frame.bus) })),
    sequences: renamed(map.sequences, ['bus'], names),
  };
}

function membersOf(map: SignalMap): Map<string, Set<string>> {
  const groups = new Map<string, Set<string>>();
  for (const frame of map.frames) {
    if (!frame.sender) continue;
    groups.set(frame.sender.group, (groups.get(frame.sender.group) ?? new Set()).add(frameKey(frame)));
  }
  return groups;
}

const LETTERS = [...'ABCDEFGHIJKLMNOPQRSTUVWXYZ'];

function freeGroup(taken: ReadonlySet<string>): string {
  for (let n = 0; ; n++) {
    const found = LETTERS.map((letter) => letter + (n === 0 ? '' : String(n))).find((letter) => !taken.has(letter));
    if (found !== undefined) return found;
  }
}

/** Letters say nothing across two maps: the group that shares the most frames is the same one. Buses must be in one set of names. */
export function groupNames(first: SignalMap, second: SignalMap): Names {
  const [own, other] = [membersOf(first), membersOf(second)];
  const shared = (a: ReadonlySet<string>, b: ReadonlySet<string>): number => [...a].filter((key) => b.has(key)).length;
  const pairs = [...other]
    .flatMap(([group, members]) => [...own].map(([twin, theirs]) => ({ group, twin, n: shared(members, theirs) })))
    .filter(({ n }) => n > 0)
    .sort(
      (a, b) =>
        b.n - a.n ||
        Number(b.group === b.twin) - Number(a.group === a.twin) ||
        (a.group + a.twin < b.group + b.twin ? -1 : 1),
    );
  const names = new Map<string, string>();
  const taken = new Set<string>();
  for (const { group, twin } of pairs) {
    if (names.has(group) || taken.has(twin)) continue;
    names.set(group, twin);
    taken.add(twin);
  }
  const used = new Set([...own.keys(), ...names.values()]);
  for (const group of other.keys()) {
    if (names.has(group)) continue;
    const name = used.has(group) ? freeGroup(new Set([...used, ...other.keys()])) : group;
    names.set(group, name);
    used.add(name);
  }
  return names;
}

export function withGroupNames(map: SignalMap, names: Names): SignalMap {
  if ([...names].every(([from, to]) => from === to)) return map;
  const of = (group: string): string => names.get(group) ?? group;
  return {
    ...map,
    frames: map.frames.map((frame) =>
      frame.sender ? { ...frame, sender: { ...frame.sender, group: of(frame.sender.group) } } : frame,
    ),
    sequences: renamed(map.sequences, ['group'], names),
  };
}
