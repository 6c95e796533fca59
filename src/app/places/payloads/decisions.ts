/** What the person decides about fields, as recipes over the dossier: place one, refuse one, take it back. */
import type { Coding, Placement } from '../../../frames/bits.ts';
import type { StreamKey } from '../../../frames/table.ts';
import type { MapChecksum, MapCounter, When } from '../../../map/schema.ts';
import type { Dossier } from '../../../jobs/dossier.ts';
import { formatId } from '../../../kit/units.ts';
import { placementKey } from '../../pictures/bands-words.ts';

export type Decision = Dossier['decisions'][number];

export interface FrameKey {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
}

export const frameKeyOf = ({ bus, id, extended }: StreamKey): FrameKey => ({ bus, id: formatId(id), extended });

export const sameFrame = (a: FrameKey, b: FrameKey): boolean =>
  a.bus === b.bus && a.id === b.id && a.extended === b.extended;

/** Its place alone, without what else is known of a field. */
export const plainPlacement = ({ lsb, length, order, continues }: Placement): Decision['placement'] => ({
  lsb: { byte: lsb.byte, bit: lsb.bit },
  length,
  order,
  ...(continues?.length
    ? {
        continues: continues.map((p) => ({
          lsb: { byte: p.lsb.byte, bit: p.lsb.bit },
          length: p.length,
          order: p.order,
        })),
      }
    : {}),
});

/** The page of a rule set by hand; null for the rest, which is decided for all pages. */
export const pageOf = ({ counter, checksum }: Pick<Decision, 'counter' | 'checksum'>): When =>
  (counter ?? checksum)?.when ?? null;

/** when: leaves the rules of other pages alone; absent: all that was decided about the bits. */
const isAbout = (decision: Decision, frame: FrameKey, placement: Placement, when?: When): boolean =>
  sameFrame(decision, frame) &&
  placementKey(decision.placement) === placementKey(placement) &&
  (when === undefined ||
    decision.kind !== 'rule' ||
    placementKey(placement, pageOf(decision)) === placementKey(placement, when));

export function takeBack(dossier: Dossier, frame: FrameKey, placement: Placement, when?: When): Dossier {
  return { ...dossier, decisions: dossier.decisions.filter((decision) => !isAbout(decision, frame, placement, when)) };
}

/** A later decision about the same bits stands in the place of the earlier one. */
function decide(dossier: Dossier, frame: FrameKey, decision: Omit<Decision, keyof FrameKey>): Dossier {
  const { bus, id, extended } = frame;
  const when = decision.kind === 'rule' ? pageOf(decision) : undefined;
  const cleared = takeBack(dossier, frame, decision.placement as Placement, when);
  return { ...dossier, decisions: [...cleared.decisions, { bus, id, extended, ...decision } as Decision] };
}

export const placeField = (dossier: Dossier, frame: FrameKey, placement: Placement, coding: Coding): Dossier =>
  decide(dossier, frame, { kind: 'field', placement: plainPlacement(placement), coding });

export const refuseField = (dossier: Dossier, frame: FrameKey, placement: Placement): Dossier =>
  decide(dossier, frame, { kind: 'refused', placement: plainPlacement(placement) });

export type HandRule = { readonly counter: MapCounter } | { readonly checksum: MapChecksum };

/** @param before where the rule stood that this one takes the place of */
export function keepRule(dossier: Dossier, frame: FrameKey, rule: HandRule, before: Placement): Dossier {
  const own = 'counter' in rule ? rule.counter : rule.checksum;
  const placement = plainPlacement(own as Placement);
  return decide(takeBack(dossier, frame, before, own.when), frame, { kind: 'rule', placement, ...rule });
}

export const decisionsOf = (dossier: Dossier, frame: FrameKey): Decision[] =>
  dossier.decisions.filter((decision) => sameFrame(decision, frame));
