/**
 * Two people's maps of one part: what contradicts, with a person's choice of each, and the maps merged by these choices. A choice is a person's
 * hand: it goes into the version chosen as evidence, which is what decides in a merge. Pure.
 */
import { frameKey } from '../../../map/identifiers.ts';
import type { Evidence, MapFrame, SignalMap } from '../../../map/schema.ts';
import { mergeMaps } from '../../../proof/merge/merge-maps.ts';
import type { Merged, MergeItem, MergeItemKind, MergeOutcome, Side } from '../../../proof/merge/types.ts';

/** "open": as the merge has it; both are kept, and the one in force is a guess. */
export type Choice = Side | 'open';
export type Choices = Readonly<Record<string, Choice>>;

export type Section = 'signals' | 'counters' | 'checksums' | 'selectors';
const SECTIONS: Readonly<Partial<Record<MergeItemKind, Section>>> = {
  signal: 'signals',
  counter: 'counters',
  checksum: 'checksums',
  selector: 'selectors',
};

/** What a version is placed by. */
export interface Claim {
  readonly name?: string;
  readonly lsb: { readonly byte: number; readonly bit: number };
  readonly length: number;
  readonly order: 'little' | 'big';
  readonly when?: Readonly<Record<string, readonly number[]>> | null;
  readonly evidence?: readonly Evidence[];
}

export interface Conflict {
  readonly key: string;
  readonly item: MergeItem;
  /** Null: of the frame or the map itself; both are kept, and there is nothing to choose. */
  readonly section: Section | null;
  readonly first: readonly Claim[];
  readonly second: readonly Claim[];
}

const isClaim = (one: unknown): one is Claim =>
  typeof one === 'object' && one !== null && 'lsb' in one && 'length' in one;
const claimsOf = (version: unknown): readonly Claim[] => (Array.isArray(version) ? version : [version]).filter(isClaim);

export const conflictsOf = ({ report }: Merged): readonly Conflict[] => {
  const keys = new Map<string, number>();
  return report.items
    .filter(({ outcome }) => outcome === 'conflict')
    .map((item) => {
      const [first, second] = [claimsOf(item.first), claimsOf(item.second)];
      const base = `${item.frame ? frameKey(item.frame) : 'map'} ${item.item} ${item.name}`;
      const n = (keys.get(base) ?? 0) + 1;
      keys.set(base, n);
      const section = SECTIONS[item.item] ?? null;
      const both = first.length > 0 && second.length > 0;
      return { key: `${base} ${n}`, item, section: both ? section : null, first, second };
    });
};

/** What stands before anyone chose. */
export const usualChoice = ({ item }: Conflict): Choice => (item.decided && item.kept ? item.kept : 'open');

export type ConflictGroup = 'open' | 'decided' | 'recorded';

/** What is open first; "recorded": of what recordings show and of the map itself, with nothing to choose. Choices made later move nothing. */
export const conflictGroups = (
  conflicts: readonly Conflict[],
): readonly { readonly group: ConflictGroup; readonly conflicts: readonly Conflict[] }[] => {
  const groupOf = (conflict: Conflict): ConflictGroup =>
    conflict.section === null ? 'recorded' : usualChoice(conflict) === 'open' ? 'open' : 'decided';
  return (['open', 'decided', 'recorded'] as const)
    .map((group) => ({ group, conflicts: conflicts.filter((conflict) => groupOf(conflict) === group) }))
    .filter((one) => one.conflicts.length > 0);
};

/** Selectors may go by other names in the two maps: their values tell pages apart. */
const placeOf = ({ lsb, length, order, when }: Claim): string =>
  JSON.stringify([lsb.byte, lsb.bit, length, order, Object.values(when ?? {})]);

const isHand = ({ kind }: Evidence): boolean => kind === 'by-hand';

function withHand<T extends Claim>(claim: T, set: boolean): T {
  const others = (claim.evidence ?? []).filter((one) => !isHand(one));
  if (set) return { ...claim, evidence: [...others, { kind: 'by-hand' }] };
  return claim.evidence ? { ...claim, evidence: others } : claim;
}

interface Hand {
  readonly frame: string;
  readonly section: Section;
  readonly places: ReadonlySet<string>;
  readonly set: boolean;
}

function handed(map: SignalMap, hands: readonly Hand[], keyOf: (frame: MapFrame) => string): SignalMap {
  if (hands.length === 0) return map;
  const frames = map.frames.map((frame) => {
    const own = hands.filter((hand) => hand.frame === keyOf(frame));
    return own.reduce<MapFrame>(
      (changed, { section, places, set }) => ({
        ...changed,
        [section]: (changed[section] as readonly Claim[]).map((claim) =>
          places.has(placeOf(claim)) ? withHand(claim, set) : claim,
        ),
      }),
      frame,
    );
  });
  return { ...map, frames };
}

/** Merged as chosen; what was left open stays disputed. */
export function mergedBy(mine: SignalMap, theirs: SignalMap, base: Merged, choices: Choices): Merged {
  const chosen = conflictsOf(base).flatMap((conflict) => {
    const choice = choices[conflict.key];
    if (!choice || choice === 'open' || !conflict.section || !conflict.item.frame) return [];
    const frame = frameKey(conflict.item.frame);
    return [{ conflict, choice, frame, section: conflict.section }];
  });
  if (chosen.length === 0) return base;
  const handsOf = (side: Side): Hand[] =>
    chosen.map(({ conflict, choice, frame, section }) => ({
      frame,
      section,
      places: new Set(conflict[side].map(placeOf)),
      set: choice === side,
    }));
  const { buses } = base.report;
  const first = handed(mine, handsOf('first'), frameKey);
  const second = handed(theirs, handsOf('second'), (frame) =>
    frameKey({ ...frame, bus: buses[frame.bus] ?? frame.bus }),
  );
  return mergeMaps(first, second);
}

export type OutcomeCounts = Readonly<Record<MergeOutcome, number>>;
export function outcomeCounts({ report }: Merged): OutcomeCounts {
  const count = (outcome: MergeOutcome): number => report.items.filter((item) => item.outcome === outcome).length;
  return {
    equal: count('equal'),
    united: count('united'),
    'only-in-first': count('only-in-first'),
    'only-in-second': count('only-in-second'),
    conflict: count('conflict'),
  };
}

export interface Difference {
  readonly name: string;
  readonly first: string;
  readonly second: string;
}

/** Not worth a row: evidence stands in the map, and what was observed differs by the drive. */
const SILENT = ['evidence', 'notes', 'observed', 'alsoNamed', 'mayExtend', 'confidence'];
const LONGEST = 90;

const isBit = (one: unknown): one is { byte: number; bit: number } =>
  typeof one === 'object' && one !== null && 'byte' in one && 'bit' in one;

function printed(value: unknown): string {
  if (Array.isArray(value) && value.every(isBit))
    return printed(value.map(({ byte, bit }) => `b${byte}.${bit}`).join(', '));
  if (Array.isArray(value) && value.every((one) => typeof one === 'string' || typeof one === 'number'))
    return printed(value.join(' '));
  if (value === undefined || value === null || value === '') return 'none';
  const text = typeof value === 'string' ? value : typeof value === 'number' ? String(value) : JSON.stringify(value);
  return text.length > LONGEST ? `${text.slice(0, LONGEST)}…` : text;
}

const plainOf = (version: unknown): Readonly<Record<string, unknown>> =>
  typeof version === 'object' && version !== null && !Array.isArray(version)
    ? (version as Readonly<Record<string, unknown>>)
    : { value: version };

/** Key by key what tells the two versions apart, where each is one thing. */
export function differencesOf(first: unknown, second: unknown): readonly Difference[] {
  const [a, b] = [plainOf(first), plainOf(second)];
  const keys = [...new Set([...Object.keys(a), ...Object.keys(b)])].filter((key) => !SILENT.includes(key));
  return keys
    .filter((key) => JSON.stringify(a[key]) !== JSON.stringify(b[key]))
    .map((name) => ({ name, first: printed(a[name]), second: printed(b[name]) }));
}
