/** What claims bits of a frame, numbered as the tables beside a drawing number it. */
import { bitPositions, type Placement } from '../../../frames/bits.ts';
import type { MapFrame, MapUnclaimed, When } from '../../../map/schema.ts';

export type ClaimKind =
  'number' | 'flag' | 'states' | 'text' | 'counter' | 'checksum' | 'selector' | MapUnclaimed['reason'];

export interface Claim {
  /** From 1 in the order of the frame's table; 0 for what nobody claims. */
  readonly number: number;
  readonly name: string;
  readonly kind: ClaimKind;
  readonly placement: Placement;
  readonly when: When;
  /** Of unclaimed bits that never moved. */
  readonly value: number | string | null;
}

const UNCLAIMED: ReadonlySet<ClaimKind> = new Set(['constant', 'filling', 'noise', 'cipher', 'idle']);
export const isUnclaimed = ({ kind }: Pick<Claim, 'kind'>): boolean => UNCLAIMED.has(kind);

type Unnumbered = Omit<Claim, 'number'>;

/** Selectors, signals, counters, checksums: the order of the frame's table. */
export function claimsOf(frame: MapFrame): Claim[] {
  const claimed: Unnumbered[] = [
    ...frame.selectors.map((each): Unnumbered => ({ ...claim(each, 'selector'), name: each.name })),
    ...frame.signals.map((each): Unnumbered => ({ ...claim(each, each.kind), name: each.name })),
    ...frame.counters.map((each): Unnumbered => ({ ...claim(each, 'counter'), name: each.name })),
    ...frame.checksums.map((each): Unnumbered => ({ ...claim(each, 'checksum'), name: each.method })),
  ];
  const rest = frame.unclaimed.map((each) => {
    const { when } = each as { readonly when?: When };
    const own = claim({ ...each, when }, each.reason);
    return { ...own, name: each.reason, value: each.value ?? null, number: 0 };
  });
  return [...claimed.map((each, index) => ({ ...each, number: index + 1 })), ...rest];
}

const claim = (placed: Placement & { readonly when?: When | undefined }, kind: ClaimKind): Unnumbered => ({
  name: '',
  kind,
  placement: placed,
  when: placed.when ?? null,
  value: null,
});

/** Bits in order of significance, least first, as far as they are in the payload. */
export const bitsOf = ({ placement }: Claim, frame: MapFrame): number[] =>
  bitPositions(placement).filter((bit) => bit >= 0 && bit < frame.length * 8);
