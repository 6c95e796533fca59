/** Bits that neither claims any more, and why. What the other map claims is cut out: one that was still in one capture moved in the other. */
import { bitPositions, type Placement } from '../../frames/bits.ts';
import type { MapFrame, MapUnclaimed } from '../../map/schema.ts';
import { canonical, isSame } from './canonical.ts';
import { placeText } from './claims.ts';
import type { FrameItem } from './merge-claims.ts';
import type { SetAside } from './types.ts';

/** Runs of a plain part that lie outside `taken`; a part in pieces that touches it goes as a whole. */
function cut(part: MapUnclaimed, taken: ReadonlySet<number>): MapUnclaimed[] {
  const bits = bitPositions(part as Placement);
  if (!bits.some((bit) => taken.has(bit))) return [part];
  if ((part.continues ?? []).length > 0) return [];
  const runs: { from: number; length: number }[] = [];
  bits.forEach((bit, index) => {
    if (taken.has(bit)) return;
    const last = runs.at(-1);
    if (last && last.from + last.length === index) last.length++;
    else runs.push({ from: index, length: 1 });
  });
  return runs.map(({ from, length }) => {
    const at = bits[from] as number;
    const within = (at & 7) + length <= 8;
    const { value, ...rest } = part;
    const shifted = value === undefined ? null : (BigInt(value) >> BigInt(from)) & ((1n << BigInt(length)) - 1n);
    const written =
      shifted !== null && shifted <= BigInt(Number.MAX_SAFE_INTEGER)
        ? Number(shifted)
        : `0x${(shifted ?? 0n).toString(16).toUpperCase()}`;
    return {
      ...rest,
      lsb: { byte: at >> 3, bit: at & 7 },
      length,
      order: within ? 'little' : part.order,
      ...(shifted === null ? {} : { value: written }),
    };
  });
}

const takenBy = (parts: readonly MapUnclaimed[]): Set<number> =>
  new Set(parts.flatMap((part) => bitPositions(part as Placement)));

/** Noise and ciphertext moved, so they say more than what stood still. */
const KNOWS: readonly MapUnclaimed['reason'][] = ['noise', 'cipher', 'constant', 'filling', 'idle'];
const order = (a: MapUnclaimed, b: MapUnclaimed): number =>
  KNOWS.indexOf(a.reason) - KNOWS.indexOf(b.reason) || (canonical(a) < canonical(b) ? -1 : 1);

export interface MergedUnclaimed {
  readonly parts: readonly MapUnclaimed[];
  readonly items: readonly FrameItem[];
  readonly aside: readonly SetAside[];
}

/** `claimed`: bits of the claims that only the other of the two versions has and that are in force. */
export function mergeUnclaimed(
  first: MapFrame,
  second: MapFrame,
  claimed: { readonly first: ReadonlySet<number>; readonly second: ReadonlySet<number> },
): MergedUnclaimed {
  const twins = first.unclaimed.filter((part) => second.unclaimed.some((other) => isSame(part, other)));
  const alone = (frame: MapFrame): MapUnclaimed[] =>
    frame.unclaimed.filter((part) => !twins.some((twin) => isSame(twin, part)));
  const sides = { first: alone(first), second: alone(second) };
  const kept: MapUnclaimed[] = [...twins];
  const aside: SetAside[] = [];
  const items: FrameItem[] = [];
  // Twins stay as they are; of the others those that say more take the bits first.
  const rest = [
    ...sides.first.map((part) => ({ part, side: 'first' as const })),
    ...sides.second.map((part) => ({ part, side: 'second' as const })),
  ];
  for (const { part, side } of rest.sort((x, y) => order(x.part, y.part))) {
    const foreign = claimed[side];
    const left = cut(part, foreign).flatMap((each) => cut(each, takenBy(kept)));
    kept.push(...left);
    const isWhole = left.length === 1 && isSame(left[0], part);
    const moved = bitPositions(part as Placement).some((bit) => foreign.has(bit));
    const isNoise = part.reason === 'noise' || part.reason === 'cipher';
    items.push({
      item: 'unclaimed',
      name: `${part.reason} from byte ${part.lsb.byte} bit ${part.lsb.bit}, ${part.length} bits`,
      outcome: isWhole ? `only-in-${side}` : isNoise && moved ? 'conflict' : 'united',
      kept: isWhole ? null : side === 'first' ? 'second' : 'first',
      decided: !(isNoise && moved),
      detail: isWhole
        ? ''
        : moved
          ? 'the other map knows a value there'
          : 'the other map says something else of these bits',
      ...(isNoise && moved ? { [side]: part } : {}),
    });
    if (!isWhole) aside.push({ item: 'unclaimed', because: 'the other map says more of these bits', version: part });
  }
  const place = (part: MapUnclaimed): number => Math.min(...bitPositions(part as Placement));
  const unchanged = sides.first.length === 0 && sides.second.length === 0;
  const parts = unchanged
    ? first.unclaimed
    : kept.sort((x, y) => place(x) - place(y) || (placeText(x as Placement) < placeText(y as Placement) ? -1 : 1));
  return {
    parts,
    items: [
      ...twins.map((part): FrameItem => ({
        item: 'unclaimed',
        name: `${part.reason} from byte ${part.lsb.byte} bit ${part.lsb.bit}, ${part.length} bits`,
        outcome: 'equal',
        kept: null,
        decided: true,
        detail: '',
      })),
      ...items,
    ],
    aside,
  };
}
