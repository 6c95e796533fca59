/**
 * A map made on one vehicle, carried to another of the type: what holds there is marked so, what fails is kept but refused there, and what
 * that capture did not exercise is a guess again. What it was on the vehicle that it comes from stays beside, under the added key `carried`.
 * A bench trial of another vehicle is no trial of this one, and its rest not this one's.
 */
import type { MapFrame, MapSignal, SignalMap } from '../../map/schema.ts';
import type { ProofAspectKind, ProofFrame, ProofItem, ProofReport, ProofVerdict } from '../hold/types.ts';
import { union } from './canonical.ts';
import { uniteCaptures, type Capture } from './captures.ts';

export interface CarryChange {
  readonly frame: { readonly bus: string; readonly id: string; readonly extended: boolean; readonly name: string };
  readonly item: ProofItem['item'];
  readonly name: string;
  readonly verdict: ProofVerdict;
  /** For a person: what became of it. */
  readonly what: string;
}

export interface CarriedMap {
  readonly map: SignalMap;
  /** One for each item of the map, in the map's order. */
  readonly changes: readonly CarryChange[];
}

/** What a claim was before it was carried. */
interface Was {
  readonly standing?: MapSignal['standing'];
  readonly sending?: MapSignal['sending'];
  readonly confidence?: number;
}

interface Carried {
  readonly capture: string;
  readonly verdict: ProofVerdict;
  readonly detail: string;
  /** Seconds from that capture's origin of the first disagreements. */
  readonly moments?: readonly number[];
  readonly was: Was;
}

/** Refuted where it was tested, so that no reader takes it for likely; 0.5 says that it is open. */
const FAILED_MOST = 0.05;
const OPEN_MOST = 0.5;

const NOT_REACHED = {
  verdict: 'not-exercised' as const,
  detail: 'not tested: the frame was not held against the capture',
  moments: [],
};

type Loose = Readonly<Record<string, unknown>>;
type Found = Pick<ProofItem, 'verdict' | 'detail' | 'moments'> & Partial<ProofItem>;

/** As it was before it was carried to this very capture: carrying twice comes to the same. */
function asBefore<T extends object>(claim: T, capture: string): T {
  const carried = (claim as Loose)['carried'] as Carried | undefined;
  if (carried?.capture !== capture) return claim;
  const { carried: _, ...rest } = claim as Loose;
  return { ...rest, ...carried.was } as T;
}

const aspectOf = ({ aspects }: Found, kind: ProofAspectKind): ProofVerdict =>
  aspects?.find(({ aspect }) => aspect === kind)?.verdict ?? 'not-exercised';

/** That a value lies there and is read so says nothing of its unit: proven falls by one where the scale was not tested. */
function standingWhereItHolds(signal: MapSignal, found: Found): MapSignal['standing'] {
  const hasUnit = signal.kind === 'number' && (signal.unit !== '' || signal.table !== null);
  if (signal.standing !== 'proven' || !hasUnit || aspectOf(found, 'scale') === 'holds') return signal.standing;
  return 'supported';
}

function mark<T extends object>(claim: T, found: Found, capture: string, was: Was, now: Partial<T>): T {
  const { verdict, detail, moments = [] } = found;
  const carried: Carried = { capture, verdict, detail, ...(moments.length > 0 ? { moments } : {}), was };
  return { ...claim, ...now, carried };
}

function most(confidence: number, verdict: ProofVerdict): number {
  if (verdict === 'holds') return confidence;
  return Math.min(confidence, verdict === 'fails' ? FAILED_MOST : OPEN_MOST);
}

/** That it held there is evidence by that capture; that it failed or was not exercised is none for it. */
function evidenceThere({ evidence }: MapSignal, { verdict, rate, n }: Found, capture: string): MapSignal['evidence'] {
  return verdict === 'holds' ? union(evidence, [{ kind: 'proof', capture, rate, n }]) : evidence;
}

function carrySignal(given: MapSignal, found: Found, capture: string): MapSignal {
  const signal = asBefore(given, capture);
  const { standing, sending, confidence } = signal;
  return mark<MapSignal>(
    signal,
    found,
    capture,
    { standing, sending, confidence },
    {
      standing: found.verdict === 'holds' ? standingWhereItHolds(signal, found) : 'guess',
      sending: 'untested',
      confidence: most(confidence, found.verdict),
      evidence: evidenceThere(signal, found, capture),
    },
  );
}

function carryGuard<T extends { readonly confidence: number }>(given: T, found: Found, capture: string): T {
  const guard = asBefore(given, capture);
  const { confidence } = guard;
  const now = { confidence: most(confidence, found.verdict) } as Partial<T>;
  return mark(guard, found, capture, { confidence }, now);
}

const WORDS: Readonly<Record<ProofVerdict, string>> = {
  holds: 'holds on that vehicle too',
  fails: 'refused on that vehicle; kept as it was where it comes from',
  'not-exercised': 'not exercised: a guess on that vehicle',
};

/** Items of one kind stand in the report in the order of the map. */
function inOrder(proof: ProofFrame | undefined, kind: ProofItem['item']): (index: number) => Found {
  const items = proof?.items.filter(({ item }) => item === kind) ?? [];
  return (index) => items[index] ?? NOT_REACHED;
}

/** What was left out of the vehicle without harm there may be needed here; what was needed is taken to be. */
function needThere(need: MapFrame['need']): MapFrame['need'] {
  return need.verdict === 'not-required' ? { ...need, verdict: 'untested', how: '' } : need;
}

function timingThere(timing: MapFrame['timing']): MapFrame['timing'] {
  return timing.timeoutFrom === 'bench' ? { ...timing, timeoutFrom: 'guess' } : timing;
}

/** What was seen of a frame on the vehicle that the map comes from and lets it be sent there: a span that a person marked as at rest, trials in which nothing moved. */
interface Elsewhere {
  readonly marked?: unknown;
  readonly sent?: unknown;
}

/** The payload at rest goes along to start an encoder; that it may be sent, and that nothing moves then, is to be shown here. */
function sendingThere(frame: MapFrame): { readonly frame: MapFrame; readonly elsewhere: Elsewhere } {
  const { sent, ...unsent } = frame as MapFrame & { readonly sent?: unknown };
  const { marked, ...rest } = (frame.rest ?? {}) as Loose;
  const elsewhere = { ...(marked === undefined ? {} : { marked }), ...(sent === undefined ? {} : { sent }) };
  return { frame: { ...unsent, rest: frame.rest && (rest as MapFrame['rest']) } as MapFrame, elsewhere };
}

interface CarriedHead {
  readonly capture: string;
  readonly verdict: ProofVerdict;
  readonly items: readonly Pick<ProofItem, 'item' | 'verdict' | 'detail'>[];
  readonly was: Pick<MapFrame, 'need' | 'timing'>;
  readonly elsewhere?: Elsewhere;
}

function headBefore(frame: MapFrame, capture: string): MapFrame {
  const carried = frame['carried'] as CarriedHead | undefined;
  if (carried?.capture !== capture) return frame;
  const { carried: _, ...rest } = frame as Loose;
  return { ...rest, ...carried.was } as MapFrame;
}

const HEAD_ITEMS: readonly ProofItem['item'][] = ['presence', 'length', 'timing'];

function carryFrame(
  given: MapFrame,
  proof: ProofFrame | undefined,
  capture: string,
): { frame: MapFrame; changes: CarryChange[] } {
  const before = given['carried'] as CarriedHead | undefined;
  // Carried to this very capture before: what the frame has now was marked and tried here.
  const { frame, elsewhere } =
    before?.capture === capture
      ? { frame: headBefore(given, capture), elsewhere: before.elsewhere ?? {} }
      : sendingThere(given);
  const { bus, id, extended, name } = frame;
  const changes: CarryChange[] = [];
  const tell = (item: ProofItem['item'], called: string, { verdict }: Found): void => {
    changes.push({ frame: { bus, id, extended, name }, item, name: called, verdict, what: WORDS[verdict] });
  };
  const head = HEAD_ITEMS.map((item) => ({ item, found: inOrder(proof, item)(0) }));
  for (const { item, found } of head) tell(item, name, found);
  const carryAll = <T extends object>(
    kind: ProofItem['item'],
    claims: readonly T[],
    carry: (claim: T, found: Found, capture: string) => T,
  ): T[] => {
    const found = inOrder(proof, kind);
    return claims.map((claim, index) => {
      const { name: called, lsb } = claim as { readonly name?: string; readonly lsb?: { byte: number; bit: number } };
      tell(kind, called ?? `byte ${lsb?.byte} bit ${lsb?.bit}`, found(index));
      return carry(claim, found(index), capture);
    });
  };
  const carried: CarriedHead = {
    capture,
    verdict: proof?.verdict ?? 'not-exercised',
    items: head.map(({ item, found: { verdict, detail } }) => ({ item, verdict, detail })),
    was: { need: frame.need, timing: frame.timing },
    ...(Object.keys(elsewhere).length > 0 ? { elsewhere } : {}),
  };
  return {
    frame: {
      ...frame,
      need: needThere(frame.need),
      timing: timingThere(frame.timing),
      counters: carryAll('counter', frame.counters, carryGuard),
      checksums: carryAll('checksum', frame.checksums, carryGuard),
      selectors: carryAll('selector', frame.selectors, carryGuard),
      signals: carryAll('signal', frame.signals, carrySignal),
      carried,
    },
    changes,
  };
}

/** `report`: the map held against a capture of the other vehicle, which `capture` names; it joins the map's captures. */
export function carryMap(map: SignalMap, report: ProofReport, capture: Capture): CarriedMap {
  const { captures, second } = uniteCaptures(map.captures, [capture]);
  const own = second.get(capture.id) ?? capture.id;
  const proofs = new Map(report.frames.map((frame) => [`${frame.bus} ${Number(frame.id)} ${frame.extended}`, frame]));
  const carried = map.frames.map((frame) =>
    carryFrame(frame, proofs.get(`${frame.bus} ${Number(frame.id)} ${frame.extended}`), own),
  );
  return {
    // Spread first: frames that this program could not read go along with the map itself.
    map: { ...map, captures, frames: carried.map(({ frame }) => frame) },
    changes: carried.flatMap(({ changes }) => changes),
  };
}
