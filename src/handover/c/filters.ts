/**
 * Receive filters for hardware that compares identifiers under a mask: a frame passes where (identifier & mask) == match.
 * With one filter an identifier exactly those pass. With fewer, identifiers share filters, and those that
 * belong together are chosen so that the fewest others of the map pass, then the fewest identifiers at all. Base and extended
 * identifiers are never mixed: hardware keeps them apart.
 */

export interface ReceiveFilter {
  readonly match: number;
  /** Bits that are compared; 0 in a bit lets both values pass. */
  readonly mask: number;
}

export interface FilterChoice {
  readonly filters: readonly ReceiveFilter[];
  /** Of the other identifiers given, those that pass as well, ascending. */
  readonly othersPassing: readonly number[];
  /** Identifiers that pass, known or not; identifiers that pass several filters are counted once in each. */
  readonly passing: number;
  /** Whether every way of sharing was tried; else the choice is good, perhaps not the best. */
  readonly isBest: boolean;
}

type Group = readonly number[];

export const passes = (id: number, { match, mask }: ReceiveFilter): boolean => (id & mask) === match;

/** Bits in which identifiers of the group differ are not compared. */
function filterOf(group: Group, width: 11 | 29): ReceiveFilter {
  const all = 2 ** width - 1;
  const first = group[0] ?? 0;
  const differing = group.reduce((bits, id) => bits | (id ^ first), 0);
  return { match: first & all & ~differing, mask: all & ~differing };
}

function openBits(mask: number, width: 11 | 29): number {
  let open = 0;
  for (let bit = 0; bit < width; bit++) if (((mask >> bit) & 1) === 0) open++;
  return open;
}

interface Scale {
  readonly width: 11 | 29;
  readonly others: readonly number[];
  /** Costs by match and mask, once computed. */
  readonly known: Map<string, number>;
}

/** Others that pass a group's filter outweigh every number of identifiers that nobody sends. */
function costOf(group: Group, { width, others, known }: Scale): number {
  const filter = filterOf(group, width);
  const key = `${filter.match}/${filter.mask}`;
  const before = known.get(key);
  if (before !== undefined) return before;
  const passing = others.filter((id) => passes(id, filter)).length;
  const cost = passing * 2 ** 30 + 2 ** openBits(filter.mask, width);
  known.set(key, cost);
  return cost;
}

const total = (groups: readonly Group[], scale: Scale): number =>
  groups.reduce((sum, group) => sum + costOf(group, scale), 0);

/** Ways to share 9 identifiers number 21,147 (the Bell number of 9); beyond that too many to try. */
const TRIED_WHOLE = 9;

function* sharings(ids: Group, most: number): Generator<number[][]> {
  const [first, ...rest] = ids;
  if (first === undefined) {
    yield [];
    return;
  }
  for (const groups of sharings(rest, most)) {
    for (let i = 0; i < groups.length; i++) yield groups.map((group, j) => (i === j ? [first, ...group] : group));
    if (groups.length < most) yield [[first], ...groups];
  }
}

function bestSharing(ids: Group, most: number, scale: Scale): readonly Group[] {
  let best: readonly Group[] = [ids];
  let least = Infinity;
  for (const groups of sharings(ids, most)) {
    const sum = total(groups, scale);
    // Of equals the one with fewer filters.
    if (sum < least || (sum === least && groups.length < best.length)) [best, least] = [groups, sum];
  }
  return best;
}

/** Joins the two groups that cost least together, until there are few enough and no joining is free. */
function joined(ids: Group, most: number, scale: Scale): readonly Group[] {
  let groups: readonly Group[] = ids.map((id) => [id]);
  for (;;) {
    let [least, at]: [number, readonly [number, number] | null] = [Infinity, null];
    for (let i = 0; i < groups.length; i++)
      for (let j = i + 1; j < groups.length; j++) {
        const [a, b] = [groups[i] as Group, groups[j] as Group];
        const more = costOf([...a, ...b], scale) - costOf(a, scale) - costOf(b, scale);
        if (more < least) [least, at] = [more, [i, j]];
      }
    if (at === null || (groups.length <= most && least > 0)) return groups;
    const [i, j] = at;
    const both = [...(groups[i] as Group), ...(groups[j] as Group)];
    groups = [...groups.filter((_, k) => k !== i && k !== j), both];
  }
}

/** Moves single identifiers to another group as long as that lets fewer pass. */
function improved(start: readonly Group[], scale: Scale): readonly Group[] {
  let groups = start;
  for (let round = 0; round < 100; round++) {
    const better = moves(groups).find((moved) => total(moved, scale) < total(groups, scale));
    if (!better) return groups;
    groups = better;
  }
  return groups;
}

const moves = (groups: readonly Group[]): Group[][] =>
  groups.flatMap((from, i) =>
    from.flatMap((id) =>
      groups.flatMap((_, j) => {
        if (i === j) return [];
        const moved = groups.map((group, k) =>
          k === i ? group.filter((one) => one !== id) : k === j ? [...group, id] : group,
        );
        return [moved.filter((group) => group.length > 0)];
      }),
    ),
  );

function shared(ids: Group, most: number | null, scale: Scale): readonly Group[] {
  if (most === null) return ids.map((id) => [id]);
  const limit = Math.max(1, most);
  return ids.length <= TRIED_WHOLE ? bestSharing(ids, limit, scale) : improved(joined(ids, limit, scale), scale);
}

/**
 * @param wanted identifiers that must pass; @param others identifiers known on the same bus that need not.
 * @param most filters that there are; null for one each. At least 1.
 */
export function receiveFilters(
  wanted: readonly number[],
  others: readonly number[],
  width: 11 | 29,
  most: number | null,
): FilterChoice {
  const ids = [...new Set(wanted)].sort((a, b) => a - b);
  const scale = { width, others: [...new Set(others)].filter((id) => !ids.includes(id)), known: new Map() };
  const filters = shared(ids, most, scale)
    .filter((group) => group.length > 0)
    .map((group) => filterOf(group, width))
    .sort((a, b) => a.match - b.match || a.mask - b.mask);
  return {
    filters,
    othersPassing: scale.others.filter((id) => filters.some((filter) => passes(id, filter))).sort((a, b) => a - b),
    passing: filters.reduce((sum, { mask }) => sum + 2 ** openBits(mask, width), 0),
    isBest: most === null || ids.length <= TRIED_WHOLE,
  };
}
