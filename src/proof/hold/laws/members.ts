/**
 * The physical laws that a map's evidence tells of, put together from what each member says of itself: evidence of the kind "cross-check"
 * that names a law, its own part in it and the others, of whom some may be left out of the list.
 */
import { bitPositions, type Placement } from '../../../frames/bits.ts';
import type { Evidence, When } from '../../../map/schema.ts';
import type { HeldSignal } from '../held-signal.ts';

export const LAWS = ['alike-speeds', 'constant-ratio', 'power-balance', 'charge-sum', 'cell-sum'] as const;
export type LawName = (typeof LAWS)[number];

interface Member {
  readonly part: string;
  readonly held: HeldSignal;
}

export interface Law {
  readonly law: LawName;
  readonly members: readonly Member[];
  /** Members that the map told of, found in this capture or not. */
  readonly told: number;
  /** As found before, raw values; null where the law has none. */
  readonly ratio: number | null;
  /** Share of variance that it left open then. */
  readonly open: number;
}

interface Place extends Placement {
  readonly part?: unknown;
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  readonly when: When;
}

const keyOf = (place: Place): string =>
  `${place.bus} ${Number(place.id)} ${place.extended} ${bitPositions(place).join()} ${JSON.stringify(place.when ?? null)}`;

const ownKey = ({ frame, compiled: { signal } }: HeldSignal): string =>
  keyOf({ ...signal, bus: frame.bus, id: frame.id, extended: frame.extended } as Place);

const isLaw = (name: unknown): name is LawName => LAWS.some((law) => law === name);

const isPlace = (one: unknown): one is Place =>
  typeof one === 'object' && one !== null && 'bus' in one && 'id' in one && 'lsb' in one && 'length' in one;

interface Told {
  /** One law's figures are the same with each of its members. */
  readonly figures: string;
  readonly law: LawName;
  readonly keys: readonly string[];
  readonly parts: ReadonlyMap<string, string>;
  readonly members: number;
  readonly ratio: number | null;
  readonly open: number;
}

function toldBy(held: HeldSignal, evidence: Evidence): Told | null {
  const { quantity, part, members, listed, ratio, capture, residual, n, p } = evidence;
  if (evidence.kind !== 'cross-check' || !isLaw(quantity) || typeof part !== 'string') return null;
  const others = (Array.isArray(listed) ? listed : []).filter(isPlace);
  const own = ownKey(held);
  return {
    figures: JSON.stringify([capture, members, residual, n, p, ratio]),
    open: typeof residual === 'number' ? residual : 0,
    law: quantity,
    keys: [own, ...others.map(keyOf)],
    parts: new Map([[own, part], ...others.map((each) => [keyOf(each), String(each.part)] as const)]),
    members: typeof members === 'number' ? members : others.length + 1,
    ratio: typeof ratio === 'number' ? ratio : null,
  };
}

/** Of one law, by its figures, and by a member that both name: of many cells each lists but a few. */
const isSame = (a: Told, b: Told): boolean =>
  a.law === b.law && a.figures === b.figures && a.keys.some((key) => b.keys.includes(key));

const united = (a: Told, b: Told): Told => ({
  ...a,
  keys: [...new Set([...a.keys, ...b.keys])],
  parts: new Map([...a.parts, ...b.parts]),
  members: Math.max(a.members, b.members),
});

/** O(evidence x laws). */
export function lawsOf(signals: readonly HeldSignal[]): Law[] {
  const laws: Told[] = [];
  for (const held of signals)
    for (const evidence of held.compiled.signal.evidence) {
      const told = toldBy(held, evidence);
      if (!told) continue;
      const at = laws.findIndex((law) => isSame(law, told));
      if (at < 0) laws.push(told);
      else laws[at] = united(laws[at] as Told, told);
    }
  const byKey = new Map(signals.map((held) => [ownKey(held), held]));
  return laws.map(({ law, keys, parts, members, ratio, open }) => ({
    law,
    ratio,
    open,
    told: members,
    members: keys.flatMap((key): Member[] => {
      const held = byKey.get(key);
      return held ? [{ held, part: parts.get(key) ?? '' }] : [];
    }),
  }));
}
