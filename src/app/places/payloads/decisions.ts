/** What the person decides about fields, as recipes over the dossier: place one, refuse one, take it back. */
import type { Coding, Placement } from '../../../frames/bits.ts';
import type { StreamKey } from '../../../frames/table.ts';
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

const plainPlacement = ({ lsb, length, order, continues }: Placement): Decision['placement'] => ({
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

const isAbout = (decision: Decision, frame: FrameKey, placement: Placement): boolean =>
  sameFrame(decision, frame) && placementKey(decision.placement) === placementKey(placement);

export function takeBack(dossier: Dossier, frame: FrameKey, placement: Placement): Dossier {
  return { ...dossier, decisions: dossier.decisions.filter((decision) => !isAbout(decision, frame, placement)) };
}

/** A later decision about the same bits stands in the place of the earlier one. */
function decide(dossier: Dossier, frame: FrameKey, decision: Omit<Decision, keyof FrameKey>): Dossier {
  const { bus, id, extended } = frame;
  const cleared = takeBack(dossier, frame, decision.placement as Placement);
  return { ...dossier, decisions: [...cleared.decisions, { bus, id, extended, ...decision } as Decision] };
}

export const placeField = (dossier: Dossier, frame: FrameKey, placement: Placement, coding: Coding): Dossier =>
  decide(dossier, frame, { kind: 'field', placement: plainPlacement(placement), coding });

export const refuseField = (dossier: Dossier, frame: FrameKey, placement: Placement): Dossier =>
  decide(dossier, frame, { kind: 'refused', placement: plainPlacement(placement) });

export const decisionsOf = (dossier: Dossier, frame: FrameKey): Decision[] =>
  dossier.decisions.filter((decision) => sameFrame(decision, frame));
