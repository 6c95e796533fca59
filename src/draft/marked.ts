/**
 * What marks say about signals: links as evidence with their figures, the direct responder of an action named after it, and
 * states named after the marks' values.
 */
import type { ActionLinks, Link, LinkReport } from '../actions/types.ts';
import type { Placement } from '../frames/bits.ts';
import type { Evidence, MapSignal, When } from '../map/schema.ts';
import { samePlace } from './places.ts';
import { slugOf } from './names.ts';
import { isFrame, type FrameKey } from './types.ts';

const SURE_Q = 0.05;
const SEEN_LEAST = 2;

/** Whether a finding speaks of this signal: same frame, same bits, same page. */
export const isOf = (
  found: FrameKey & Placement & { readonly when: When },
  frame: FrameKey,
  signal: MapSignal,
): boolean =>
  isFrame(frame, found) && samePlace(found, signal) && JSON.stringify(found.when) === JSON.stringify(signal.when);

const round = (value: number): number => Number(value.toPrecision(5));

function linkEvidence(action: string, link: Link, capture: string): Evidence {
  return {
    kind: 'link',
    capture,
    action,
    direction: link.direction,
    effect: link.effect,
    effectSd: link.effectSd,
    effectInterval: [...link.effectInterval],
    lagS: link.lagS,
    p: round(link.p),
    q: round(link.q),
    n: link.n,
  };
}

/** States that were seen often enough to name; one mark each is not. */
const seenOften = (link: Link): boolean => (link.states ?? []).every(({ seen }) => seen >= SEEN_LEAST);

function statesEvidence(action: string, link: Link, capture: string): Evidence[] {
  if (!link.states || !seenOften(link)) return [];
  return [{ kind: 'states', capture, action, states: link.states.map((state) => ({ ...state })) }];
}

/** The first link of an action is what the person touched, where it is sure. */
function isDirect(action: ActionLinks, link: Link): boolean {
  const [first] = action.links;
  return (
    first !== undefined &&
    first.q <= SURE_Q &&
    first.bus === link.bus &&
    first.id === link.id &&
    first.extended === link.extended &&
    samePlace(first, link)
  );
}

function withStates(signal: MapSignal, links: readonly Link[]): MapSignal {
  const states = links.find((link) => link.states && seenOften(link))?.states;
  if (!states || signal.kind === 'text') return signal;
  const named = Object.fromEntries(states.map(({ raw, value }) => [String(raw), value]));
  return { ...signal, kind: signal.kind === 'flag' ? 'flag' : 'states', states: { ...signal.states, ...named } };
}

export interface MarkedSignal {
  readonly signal: MapSignal;
  /** Name that the marks suggest, or null. */
  readonly suggested: string | null;
}

/** A signal with all that the marks said of it. */
export function markSignal(
  signal: MapSignal,
  frame: FrameKey,
  report: LinkReport | null | undefined,
  capture: string,
): MarkedSignal {
  let suggested: string | null = null;
  const evidence: Evidence[] = [];
  const own: Link[] = [];
  for (const action of report?.actions ?? []) {
    const links = action.links.filter((link) => link.q <= SURE_Q && isOf(link, frame, signal));
    const [strongest] = links;
    if (!strongest) continue;
    own.push(...links);
    evidence.push(...links.map((link) => linkEvidence(action.action, link, capture)));
    const stated = links.find((link) => link.states);
    if (stated) evidence.push(...statesEvidence(action.action, stated, capture));
    if (isDirect(action, strongest)) suggested ??= slugOf(action.action);
  }
  return { signal: { ...withStates(signal, own), evidence: [...signal.evidence, ...evidence] }, suggested };
}
