/** What a frame claims, place by place, and which claims of two frames cannot both be. */
import { bitPositions } from '../../frames/bits.ts';
import { canCoincide } from '../../map/pages.ts';
import type { MapChecksum, MapCounter, MapFrame, MapSelector, MapSignal, When } from '../../map/schema.ts';
import { canonical } from './canonical.ts';

export const CLAIM_SECTIONS = ['selectors', 'counters', 'checksums', 'signals'] as const;
export type ClaimSection = (typeof CLAIM_SECTIONS)[number];
export type ClaimItem = MapSelector | MapCounter | MapChecksum | MapSignal;

export interface Claim {
  readonly section: ClaimSection;
  readonly item: ClaimItem;
  /** Same section, same bits in the same order, same pages. */
  readonly key: string;
  readonly bits: ReadonlySet<number>;
}

const whenOf = (item: ClaimItem): When | undefined => item.when as When | undefined;

/** Values of a condition in any order are the same condition. */
const whenText = (when: When | undefined): string =>
  canonical(
    Object.fromEntries(Object.entries(when ?? {}).map(([name, values]) => [name, [...values].sort((a, b) => a - b)])),
  );

export const placeText = (item: Parameters<typeof bitPositions>[0]): string => bitPositions(item).join(' ');

export function claimsOf(frame: MapFrame): Claim[] {
  const times = new Map<string, number>();
  return CLAIM_SECTIONS.flatMap((section) =>
    (frame[section] as readonly ClaimItem[]).map((item): Claim => {
      const text = `${section} ${placeText(item as never)} ${whenText(whenOf(item))}`;
      const time = times.get(text) ?? 0;
      times.set(text, time + 1);
      return {
        section,
        item,
        key: time === 0 ? text : `${text} again ${time}`,
        bits: new Set(bitPositions(item as never)),
      };
    }),
  );
}

const isAgainst = (a: Claim, b: Claim): boolean =>
  canCoincide(whenOf(a.item), whenOf(b.item)) && [...a.bits].some((bit) => b.bits.has(bit));

export interface Dispute {
  readonly first: readonly Claim[];
  readonly second: readonly Claim[];
}

/** Claims of either side that hang together by shared bits: they stay or go as one. One side may be empty: nobody is against it. */
export function disputes(first: readonly Claim[], second: readonly Claim[]): Dispute[] {
  const left = new Set<Claim>([...first, ...second]);
  const groups: Dispute[] = [];
  for (const start of [...first, ...second]) {
    if (!left.delete(start)) continue;
    const group = [start];
    for (const claim of group) {
      const others = first.includes(claim) ? second : first;
      for (const other of others)
        if (left.has(other) && isAgainst(claim, other) && left.delete(other)) group.push(other);
    }
    groups.push({
      first: group.filter((claim) => first.includes(claim)),
      second: group.filter((claim) => second.includes(claim)),
    });
  }
  return groups;
}

/** Names of selectors that a claim needs and the frame has not. */
export function missingSelectors(claim: Claim, selectors: ReadonlySet<string>): string[] {
  return Object.keys(whenOf(claim.item) ?? {}).filter((name) => !selectors.has(name));
}
