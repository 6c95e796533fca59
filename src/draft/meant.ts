/** What was found of a signal's meaning, put into the map: its role, and the ties that it is told by as evidence with their figures. */
import { plainPlace } from '../fields/same-value/evidence.ts';
import type { Evidence, MapSignal } from '../map/schema.ts';
import { CHECK_NAMES, type CrossCheckReport } from './cross-checks/types.ts';
import type { MeaningReport } from './meaning.ts';
import { isOf } from './marked.ts';
import type { Follow, RoleFinding, RoleReport } from './roles/types.ts';
import type { FrameKey } from './types.ts';

const ROLE = 'role';
const CHECKS: readonly string[] = CHECK_NAMES;

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

/** What a limit bounds, what acts by an enable, what a fault stands for. */
function partsOf({ reasons }: RoleFinding, capture: string): Evidence[] {
  return reasons
    .filter(({ kind }) => kind === 'bounds' || kind === 'enables' || kind === 'warns')
    .map(({ kind, with: other, figures }): Evidence => ({
      kind: 'cross-check',
      capture,
      quantity: ROLE,
      told: kind,
      ...(other ? { [kind]: plainPlace(other) } : {}),
      ...figures,
    }));
}

/** The laws that a signal is a member of: its part, the other members, what is left open and what chance makes of it. */
function lawsOf({ checks }: CrossCheckReport, signal: MapSignal, frame: FrameKey, capture: string): Evidence[] {
  return checks.flatMap(({ check, members, residual, n, p, q, figures }): Evidence[] => {
    const own = members.find(({ place }) => isOf(place, frame, signal));
    if (!own) return [];
    const others = members.filter((one) => one !== own);
    return [
      {
        kind: 'cross-check',
        capture,
        quantity: check,
        part: own.part,
        members: members.length,
        listed: others.slice(0, MEMBERS_LISTED).map(({ part, place }) => ({ part, ...plainPlace(place) })),
        residual: Number(residual.toPrecision(4)),
        n,
        p,
        q,
        ...figures,
      },
    ];
  });
}

/** Cells of a pack are not listed by the hundred with each. */
const MEMBERS_LISTED = 4;

/** A signal with the role that was found, its confidence beside it; ties only where they tell the role. */
export function meantSignal(
  signal: MapSignal,
  frame: FrameKey,
  meaning: MeaningReport | null | undefined,
  capture: string,
): MapSignal {
  if (!meaning) return signal;
  const checked = { ...signal, evidence: [...signal.evidence, ...lawsOf(meaning.checks, signal, frame, capture)] };
  const found = meaning.roles.roles.find((one) => isOf(one, frame, signal));
  if (!found || found.role === 'unknown') return checked;
  const tied = found.reasons.some(({ kind }) => kind === 'leads' || kind === 'follows' || kind === 'copies');
  return {
    ...checked,
    role: found.role,
    roleConfidence: found.confidence,
    evidence: [
      ...checked.evidence,
      ...(tied ? tiesOf(meaning.roles, signal, frame, capture) : []),
      ...partsOf(found, capture),
    ],
  };
}

const isFound = ({ kind, capture, quantity }: Evidence, of: string): boolean =>
  kind === 'cross-check' &&
  capture === of &&
  typeof quantity === 'string' &&
  (quantity === ROLE || CHECKS.includes(quantity));

/** A signal that a person named: the same evidence, in place of what an earlier look at the capture gave; the role that the person gave it stays. */
export function meantByHand(
  signal: MapSignal,
  frame: FrameKey,
  meaning: MeaningReport | null | undefined,
  capture: string,
): MapSignal {
  if (!meaning) return signal;
  const bare = { ...signal, evidence: signal.evidence.filter((evidence) => !isFound(evidence, capture)) };
  const found = meantSignal(bare, frame, meaning, capture);
  return signal.role === 'unknown' ? found : { ...bare, evidence: found.evidence };
}
