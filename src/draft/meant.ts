/** What was found of a signal's meaning, put into the map: its role, and the ties that it is told by as evidence with their figures. */
import type { Evidence, MapSignal } from '../map/schema.ts';
import type { MeaningReport } from './meaning.ts';
import { isOf } from './marked.ts';
import type { FieldPlace, Follow, RoleReport } from './roles/types.ts';
import type { FrameKey } from './types.ts';

const ROLE = 'role';

const plainPlace = ({ bus, id, extended, lsb, length, order, continues, when }: FieldPlace) => ({
  bus,
  id,
  extended,
  lsb: { byte: lsb.byte, bit: lsb.bit },
  length,
  order,
  ...(continues ? { continues } : {}),
  when,
});

/** `follows` or `leads`: the other field; lag in milliseconds with its 95 % interval. */
function followEvidence(follow: Follow, side: 'follows' | 'leads', capture: string): Evidence {
  const { leader, follower, lagMsInterval, constantMsInterval, ...figures } = follow;
  return {
    kind: 'cross-check',
    capture,
    quantity: ROLE,
    [side]: plainPlace(side === 'follows' ? leader : follower),
    ...figures,
    lagMsInterval: [...lagMsInterval],
    constantMsInterval: [...constantMsInterval],
  };
}

function tiesOf({ follows }: RoleReport, signal: MapSignal, frame: FrameKey, capture: string): Evidence[] {
  const telling = follows.filter(({ way }) => way !== 'untold');
  return [
    ...telling.filter((one) => isOf(one.follower, frame, signal)).map((one) => followEvidence(one, 'follows', capture)),
    ...telling.filter((one) => isOf(one.leader, frame, signal)).map((one) => followEvidence(one, 'leads', capture)),
  ];
}

/** A signal with the role that was found, its confidence beside it; ties only where they tell the role. */
export function meantSignal(
  signal: MapSignal,
  frame: FrameKey,
  meaning: MeaningReport | null | undefined,
  capture: string,
): MapSignal {
  const found = meaning?.roles.roles.find((one) => isOf(one, frame, signal));
  if (!meaning || !found || found.role === 'unknown') return signal;
  const tied = found.reasons.some(({ kind }) => kind === 'leads' || kind === 'follows' || kind === 'copies');
  return {
    ...signal,
    role: found.role,
    roleConfidence: found.confidence,
    evidence: tied ? [...signal.evidence, ...tiesOf(meaning.roles, signal, frame, capture)] : signal.evidence,
  };
}
