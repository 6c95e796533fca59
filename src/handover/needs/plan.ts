/**
 * The keep-alive plan: what the part may need from the rest of the vehicle, frame by frame, as far as the map and captures tell, with the reasons.
 * What it really needs only a bench trial shows.
 */
import { frameKey, idNumber } from '../../map/identifiers.ts';
import type { MapFrame, SignalMap } from '../../map/schema.ts';
import { mayCommand, whyNotSent } from '../encode-choice.ts';
import { absenceSays, type AbsenceSays, type AbsenceSeen, type AbsenceVerdict } from './absences.ts';
import { firstAfterWake, orderReason, startOrder } from './after-wake.ts';
import { cannotBeProduced } from './cannot-be-produced.ts';
import { keptMode } from './kept-mode.ts';
import { openQuestions } from './open-questions.ts';
import type { CaptureObservations, FrameSeen } from './observe/types.ts';
import { commonAnchor, phaseIn } from './phase-of.ts';
import type { FrameKey, KeepAlivePlan, NeedReason, PlannedFrame } from './types.ts';

const isPlanned = ({ role }: MapFrame): boolean => role !== 'sent-by-part';
const keyOf = ({ bus, id, extended }: FrameKey): FrameKey => ({ bus, id, extended });

const BY_HOW = { bench: 'bench', absence: 'absence', 'lost-communication-code': 'lost-communication-code' } as const;

/** What stands in the map already. */
function ownReasons({ role, need }: MapFrame): NeedReason[] {
  const reasons: NeedReason[] = [];
  if (need.verdict !== 'untested') {
    const kind = need.how === '' ? 'by-hand' : BY_HOW[need.how];
    const speaksFor = need.verdict === 'required' ? 'needed' : 'not-needed';
    reasons.push({ kind, speaksFor, words: `the map says "${need.verdict}"${need.how ? `, by ${need.how}` : ''}` });
  }
  if (role === 'needed-by-part') {
    reasons.push({ kind: 'by-hand', speaksFor: 'needed', words: 'the map says that the part needs it' });
  }
  return reasons;
}

const RING =
  'network management by a ring: each node sends in answer to the others, so it must be generated and cannot be replayed';

function networkReason(seen: readonly FrameSeen[]): NeedReason[] {
  const why = seen.find(({ network }) => network !== null)?.network?.why;
  return why ? [{ kind: 'network', speaksFor: 'needed', words: why }] : [];
}

/** Reasons weigh by kind; what speaks against a need weighs the other way, and less: that nothing was seen may be overlooked. */
const WEIGHTS: Readonly<Record<NeedReason['kind'], number>> = {
  bench: 8,
  'by-hand': 5,
  'lost-communication-code': 4,
  absence: 3,
  network: 2,
  order: 1,
};
const AGAINST = -0.5;
const VERDICTS: Readonly<Record<PlannedFrame['need'], number>> = { required: 0, untested: 1, 'not-required': 2 };
const weightOf = ({ reasons }: PlannedFrame): number =>
  reasons.reduce((sum, { kind, speaksFor }) => sum + (speaksFor === 'needed' ? 1 : AGAINST) * WEIGHTS[kind], 0);

const byNeed = (a: PlannedFrame, b: PlannedFrame): number =>
  VERDICTS[a.need] - VERDICTS[b.need] ||
  weightOf(b) - weightOf(a) ||
  a.frame.bus.localeCompare(b.frame.bus) ||
  idNumber(a.frame.id) - idNumber(b.frame.id);

interface Setting {
  readonly part: readonly FrameKey[];
  readonly observations: readonly CaptureObservations[];
  readonly absences: readonly AbsenceSays[];
  /** By sender group: key of the frame that its phases count from. */
  readonly anchors: ReadonlyMap<string, string | null>;
}

function shownIn(absences: readonly AbsenceSays[], key: string): AbsenceVerdict | null {
  return absences.find(({ shown }) => shown?.key === key)?.shown?.verdict ?? null;
}

function plannedFrame(frame: MapFrame, order: number | null, setting: Setting): PlannedFrame {
  const { part, observations, absences, anchors } = setting;
  const key = frameKey(frame);
  const seen = observations.flatMap(({ frames }) => frames.filter((each) => frameKey(each) === key));
  const periodMs = keptMode(frame.timing).periodMs ?? seen.find((each) => each.periodMs !== null)?.periodMs ?? null;
  const { phaseMs, why: phaseWhy } = phaseIn(
    frame,
    periodMs,
    anchors.get(frame.sender?.group ?? '') ?? null,
    observations,
  );
  const isRing = seen.some(({ network }) => network?.kind === 'ring');
  const reasons = [
    ...ownReasons(frame),
    ...absences.flatMap(({ codes, reasons: own }) =>
      [codes.get(key), own.get(key)].filter((each) => each !== undefined),
    ),
    ...networkReason(seen),
    ...[orderReason(frame, part, observations)].filter((each) => each !== null),
  ];
  const { verdict } = frame.need;
  return {
    frame,
    periodMs,
    phaseMs,
    phaseWhy,
    firstAfterWakeMs: firstAfterWake(frame, observations),
    order,
    need: verdict === 'untested' ? (shownIn(absences, key)?.verdict ?? 'untested') : verdict,
    reasons,
    whyNotProduced: whyNotSent(frame) ?? (isRing ? RING : null),
    mayCommand: frame.signals.filter(mayCommand).map(({ name }) => name),
  };
}

function anchorsOf(
  planned: readonly MapFrame[],
  observations: readonly CaptureObservations[],
): ReadonlyMap<string, string | null> {
  const groups = new Set(planned.flatMap(({ sender }) => (sender ? [sender.group] : [])));
  const ofGroup = (group: string): MapFrame[] => planned.filter(({ sender }) => sender?.group === group);
  return new Map([...groups].map((group) => [group, commonAnchor(ofGroup(group), observations)]));
}

/**
 * @param observations of captures in which nothing was missing; none, and phases and order are unknown
 * @param absences recordings with a module missing
 */
export function keepAlivePlan(
  map: SignalMap,
  observations: readonly CaptureObservations[] = [],
  absences: readonly AbsenceSeen[] = [],
): KeepAlivePlan {
  const planned = map.frames.filter(isPlanned);
  const part = map.frames.filter((frame) => !isPlanned(frame)).map(keyOf);
  const says = absences.map((absence) =>
    absenceSays(absence, {
      ofPart: new Set(part.map(frameKey)),
      planned: new Set(planned.map(frameKey)),
      whole: observations,
    }),
  );
  const order = startOrder(
    planned,
    planned.map((frame) => firstAfterWake(frame, observations)),
  );
  const setting = { part, observations, absences: says, anchors: anchorsOf(planned, observations) };
  const frames = planned.map((frame, at) => plannedFrame(frame, order[at] ?? null, setting)).sort(byNeed);
  return {
    frames,
    captures: [...observations.map(({ capture }) => capture), ...absences.map(({ capture }) => capture)],
    cannotBeProduced: cannotBeProduced(map.frames, observations),
    open: [...openQuestions(map, frames, observations, absences), ...says.flatMap(({ open }) => open)],
  };
}
