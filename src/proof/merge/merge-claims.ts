/** The claims of two versions of one frame: the same ones merged, what only one has taken along, what cannot both be decided or marked. */
import type { MapFrame, MapSelector, MapSignal } from '../../map/schema.ts';
import {
  CLAIM_SECTIONS,
  claimsOf,
  disputes,
  missingSelectors,
  type Claim,
  type ClaimItem,
  type ClaimSection,
  type Dispute,
} from './claims.ts';
import { mergeGuard } from './merge-guard.ts';
import { mergeSignal, type MergedPart } from './merge-signal.ts';
import { choose, inDispute, type Ranked } from './rank.ts';
import type { MergeItem, MergeItemKind, SetAside, Side } from './types.ts';
import { widerOf } from './wider.ts';

const KINDS: Readonly<Record<ClaimSection, MergeItemKind>> = {
  selectors: 'selector',
  counters: 'counter',
  checksums: 'checksum',
  signals: 'signal',
};

export type FrameItem = Omit<MergeItem, 'frame'>;

export interface MergedClaims {
  readonly claims: readonly Claim[];
  readonly items: readonly FrameItem[];
  readonly aside: readonly SetAside[];
}

const nameOf = (item: ClaimItem): string =>
  typeof item['name'] === 'string' ? item['name'] : `byte ${item.lsb.byte} bit ${item.lsb.bit}`;

function mergeSame(a: Claim, b: Claim, id: string): MergedPart<ClaimItem> {
  if (a.section === 'signals') return mergeSignal(a.item as MapSignal, b.item as MapSignal, id);
  return mergeGuard(a.item as MapSelector, b.item as MapSelector);
}

function sameClaims(pairs: readonly (readonly [Claim, Claim])[], id: string): MergedClaims {
  const merged = pairs.map(([a, b]) => ({ a, b, part: mergeSame(a, b, id) }));
  return {
    claims: merged.map(({ a, part }) => ({ ...a, item: part.item })),
    items: merged.map(({ a, b, part: { item, outcome, kept, decided, detail } }): FrameItem => ({
      item: KINDS[a.section],
      name: nameOf(item),
      outcome,
      kept,
      decided,
      detail,
      ...(outcome === 'conflict' ? { first: a.item, second: b.item } : {}),
    })),
    aside: merged.flatMap(({ a, part }) =>
      part.aside ? [{ item: KINDS[a.section], because: part.detail, version: part.aside }] : [],
    ),
  };
}

const itemsOf = (claims: readonly Claim[]): ClaimItem[] => claims.map(({ item }) => item);

function united({ wide, narrow, item }: NonNullable<ReturnType<typeof widerOf>>, side: Side): MergedClaims {
  const detail = `the ${side} saw more of its bits move`;
  return {
    claims: [{ ...wide, item }],
    items: [{ item: 'signal', name: item.name, outcome: 'united', kept: side, decided: true, detail }],
    aside: [{ item: 'signal', because: 'a shorter run of what is in force', version: narrow.item }],
  };
}

function settle({ first, second }: Dispute, id: string): MergedClaims {
  if (first.length === 0 || second.length === 0) {
    const outcome = second.length === 0 ? 'only-in-first' : 'only-in-second';
    const claims = [...first, ...second];
    const items = claims.map(({ section, item }): FrameItem => ({
      item: KINDS[section],
      name: nameOf(item),
      outcome,
      kept: null,
      decided: true,
      detail: '',
    }));
    return { claims, items, aside: [] };
  }
  const [a, b] = [first[0] as Claim, second[0] as Claim];
  const wider = first.length === 1 && second.length === 1 ? widerOf(a, b, id) : null;
  if (wider) return united(wider, wider.wide === a ? 'first' : 'second');
  const { side, decided } = choose(itemsOf(first) as Ranked[], itemsOf(second) as Ranked[]);
  const [kept, other] = side === 'first' ? [first, second] : [second, first];
  const names = [first, second].map((claims) => claims.map(({ item }) => nameOf(item)).join(', '));
  const detail = `they share bits: ${names[0] ?? ''} in the first, ${names[1] ?? ''} in the second`;
  return {
    claims: decided
      ? kept
      : kept.map((claim) => ({ ...claim, item: inDispute(claim.item as Ranked) as unknown as ClaimItem })),
    items: kept.map(({ section, item }): FrameItem => ({
      item: KINDS[section],
      name: nameOf(item),
      outcome: 'conflict',
      kept: side,
      decided,
      detail,
      first: itemsOf(first),
      second: itemsOf(second),
    })),
    aside: other.map(({ section, item }) => ({
      item: KINDS[section],
      because: 'shares bits with what is in force',
      version: item,
    })),
  };
}

const together = (parts: readonly MergedClaims[]): MergedClaims => ({
  claims: parts.flatMap(({ claims }) => claims),
  items: parts.flatMap(({ items }) => items),
  aside: parts.flatMap(({ aside }) => aside),
});

/** What lay on the pages of a selector that is not in force cannot be read any more, and goes where the selector went. */
function withoutLostPages(all: MergedClaims): MergedClaims {
  const selectors = new Set(
    all.claims.filter(({ section }) => section === 'selectors').map(({ item }) => nameOf(item)),
  );
  const lost = all.claims.filter((claim) => missingSelectors(claim, selectors).length > 0);
  if (lost.length === 0) return all;
  const detail = 'its page’s selector is not in force';
  return withoutLostPages({
    claims: all.claims.filter((claim) => !lost.includes(claim)),
    items: [
      ...all.items,
      ...lost.map(({ section, item }): FrameItem => ({
        item: KINDS[section],
        name: nameOf(item),
        outcome: 'conflict',
        kept: null,
        decided: false,
        detail,
        first: item,
      })),
    ],
    aside: [
      ...all.aside,
      ...lost.map(({ section, item }) => ({ item: KINDS[section], because: detail, version: item })),
    ],
  });
}

/** The frames' selectors must go by the same names where they are the same. */
export function mergeClaims(first: MapFrame, second: MapFrame): MergedClaims {
  const [a, b] = [claimsOf(first), claimsOf(second)];
  const inSecond = new Map(b.map((claim) => [claim.key, claim]));
  const pairs = a.flatMap((claim): [Claim, Claim][] => {
    const twin = inSecond.get(claim.key);
    return twin ? [[claim, twin]] : [];
  });
  const paired = new Set(pairs.map(([claim]) => claim.key));
  const free = (claims: readonly Claim[]): Claim[] => claims.filter(({ key }) => !paired.has(key));
  return withoutLostPages(
    together([sameClaims(pairs, first.id), ...disputes(free(a), free(b)).map((dispute) => settle(dispute, first.id))]),
  );
}

/** Claims as a frame's lists, in the order of the first frame's, then of the second's. */
export function listsOf(claims: readonly Claim[], first: MapFrame, second: MapFrame): Pick<MapFrame, ClaimSection> {
  const order = new Map(
    [...claimsOf(first), ...claimsOf(second)].map(({ key }, index) => [key, index] as const).reverse(),
  );
  const sorted = [...claims].sort((x, y) => (order.get(x.key) ?? 0) - (order.get(y.key) ?? 0));
  const list = (section: ClaimSection): ClaimItem[] =>
    sorted.filter((claim) => claim.section === section).map(({ item }) => item);
  return Object.fromEntries(CLAIM_SECTIONS.map((section) => [section, list(section)])) as unknown as Pick<
    MapFrame,
    ClaimSection
  >;
}
