/** Two versions of one frame. */
import type { MapFrame } from '../../map/schema.ts';
import { isSame, union, without } from './canonical.ts';
import { claimsOf, type Claim } from './claims.ts';
import { listsOf, mergeClaims, type FrameItem } from './merge-claims.ts';
import { mergeHead } from './merge-head.ts';
import { mergeUnclaimed } from './merge-unclaimed.ts';
import { alignSelectors, onlyOnce } from './names.ts';
import { versionOf, type SetAside } from './types.ts';

export interface MergedFrame {
  readonly frame: MapFrame;
  readonly items: readonly FrameItem[];
  /** What the second map's signals are called now, where that differs. */
  readonly signalNames: { readonly first: ReadonlyMap<string, string>; readonly second: ReadonlyMap<string, string> };
}

/** Trials on record of both: one in which something moved outweighs all others, so none may be lost. */
function sentOf(first: MapFrame, second: MapFrame): object {
  const all = [first, second].map(({ sent }) => (Array.isArray(sent) ? (sent as object[]) : []));
  const sent = union(all[0] ?? [], all[1] ?? []);
  return sent.length > 0 ? { sent } : {};
}

const asideOf = (frame: MapFrame): SetAside[] => (frame['setAside'] as SetAside[] | undefined) ?? [];

function bitsOnlyOf(claims: readonly Claim[], other: MapFrame): Set<number> {
  const own = new Set(claimsOf(other).map(({ key }) => key));
  return new Set(claims.filter(({ key }) => !own.has(key)).flatMap(({ bits }) => [...bits]));
}

/** Old name to new of the signals that are in force. */
function signalNames(frame: MapFrame, keys: ReadonlyMap<string, string>): Map<string, string> {
  return new Map(
    claimsOf(frame).flatMap(({ section, item, key }): [string, string][] => {
      const now = keys.get(key);
      return section === 'signals' && now !== undefined && now !== item.name ? [[item.name as string, now]] : [];
    }),
  );
}

const OWN = [
  'bus',
  'id',
  'extended',
  'length',
  'fd',
  'name',
  'alsoNamed',
  'role',
  'sender',
  'timing',
  'rest',
  'sent',
  'need',
  'counters',
  'checksums',
  'selectors',
  'signals',
  'unclaimed',
  'setAside',
];

export function mergeFrame(one: MapFrame, other: MapFrame): MergedFrame {
  const [first, second] = alignSelectors(one, { ...other, id: one.id });
  const head = mergeHead(first, second);
  const merged = mergeClaims(first, second);
  const lists = listsOf(merged.claims, first, second);
  const unclaimed = mergeUnclaimed(first, second, {
    first: bitsOnlyOf(merged.claims, first),
    second: bitsOnlyOf(merged.claims, second),
  });
  const fresh = [...head.aside, ...merged.aside, ...unclaimed.aside];
  const aside = union(union(asideOf(first), asideOf(second), versionOf), fresh, versionOf);
  const signals = onlyOnce(lists.signals);
  const keys = new Map(
    claimsOf({ ...first, ...lists, signals }).map(({ key, item }) => [
      key,
      typeof item['name'] === 'string' ? item['name'] : '',
    ]),
  );
  const [more, less] = [without(first, OWN), without(second, OWN)];
  const odd = Object.keys(more).filter((key) => key in less && !isSame(more[key], less[key]));
  const frame = {
    ...less,
    ...more,
    bus: first.bus,
    id: first.id,
    extended: first.extended,
    ...head.head,
    ...sentOf(first, second),
    ...(head.alsoNamed.length > 0 ? { alsoNamed: head.alsoNamed } : {}),
    ...lists,
    counters: onlyOnce(lists.counters),
    signals,
    unclaimed: unclaimed.parts,
    ...(aside.length > 0 || odd.length > 0
      ? {
          setAside: union(
            aside,
            odd.map((key) => ({ item: 'presence', because: `"${key}" differs`, version: less[key] })),
          ),
        }
      : {}),
  } as MapFrame;
  const presence: FrameItem = {
    item: 'presence',
    name: frame.name,
    outcome: 'equal',
    kept: null,
    decided: true,
    detail: '',
  };
  return {
    frame,
    items: [presence, ...head.items, ...merged.items, ...unclaimed.items],
    signalNames: { first: signalNames(first, keys), second: signalNames(second, keys) },
  };
}
