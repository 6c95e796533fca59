/**
 * The finders' findings and a person's decisions, put together into one signal map. Nothing is computed from frames here:
 * the same input gives the same map. What a person named or refused always wins; a signal is `supported`
 * only where two kinds of evidence agree, else it is a `guess`.
 */
import { withSameValue } from '../fields/same-value/evidence.ts';
import type { FrameFindings } from '../fields/types.ts';
import { toMapFrame } from '../fields/to-map-frame.ts';
import { isByHand } from '../map/evidence.ts';
import { requiredFeatures } from '../map/features.ts';
import type { MapFrame, MapSignal, MapTiming, SignalMap } from '../map/schema.ts';
import type { Survey, SurveyFrame } from '../timing/types.ts';
import { asAsked } from './broadcasts.ts';
import { markSignal } from './marked.ts';
import { meantByHand, meantSignal } from './meant.ts';
import { unusedName } from './names.ts';
import { collides, leftUnclaimed, samePlace } from './places.ts';
import { toMapSequences } from './sequences.ts';
import { scaleSignal } from './scaled.ts';
import { isFrame, type AssembleInput, type NamedSignal } from './types.ts';

const UNKNOWN_TIMING: MapTiming = { kind: 'once', periodMs: null, jitterMs: null };
const INDEPENDENT_KINDS = ['link', 'fit', 'states', 'cross-check', 'proof', 'bench'];

/** Two kinds of evidence that agree make a decoding supported. */
function standingOf({ evidence }: MapSignal): MapSignal['standing'] {
  const kinds = new Set(evidence.map(({ kind }) => kind).filter((kind) => INDEPENDENT_KINDS.includes(kind)));
  return kinds.size >= 2 ? 'supported' : 'guess';
}

/** A found field with what marks and references said of it. */
function enrich(
  signal: MapSignal,
  frame: MapFrame,
  input: AssembleInput,
  capture: string,
): { signal: MapSignal; suggested: string | null } {
  const marked = markSignal(signal, frame, input.links, capture);
  const scaled = scaleSignal(marked.signal, frame, input.fits, capture);
  const meant = meantSignal(scaled.signal, frame, input.meaning, capture);
  const found = withSameValue(meant, frame, input.same ?? null, capture);
  return { signal: { ...found, standing: standingOf(found) }, suggested: scaled.suggested ?? marked.suggested };
}

/** That a person has it so, with what the finders had instead of it where they differ: this capture's word in place of an older one. */
function withHandEvidence({ signal }: NamedSignal, { signals }: MapFrame): MapSignal {
  const placed = signals.find((one) => isByHand(one) && samePlace(one, signal));
  const told = placed?.evidence.find(({ kind }) => kind === 'by-hand');
  if (!told) return isByHand(signal) ? signal : { ...signal, evidence: [...signal.evidence, { kind: 'by-hand' }] };
  return { ...signal, evidence: [...signal.evidence.filter(({ kind }) => kind !== 'by-hand'), told] };
}

const isRefused = (signal: MapSignal, frame: MapFrame, input: AssembleInput): boolean =>
  (input.decisions ?? []).some(
    (decision) => decision.kind === 'refused' && isFrame(frame, decision) && samePlace(decision.placement, signal),
  );

/** Signals of one frame: the person's own, then what was found beside them, each with a name of its own. */
function signalsOf(frame: MapFrame, input: AssembleInput, capture: string): MapSignal[] {
  const named = (input.signals ?? [])
    .filter((one) => isFrame(frame, one))
    .map((one) => {
      const meant = meantByHand(withHandEvidence(one, frame), frame, input.meaning, capture);
      return withSameValue(meant, frame, input.same ?? null, capture);
    });
  const found = frame.signals.filter(
    (signal) => !isRefused(signal, frame, input) && !named.some((one) => collides(one, signal)),
  );
  const used = new Set([
    ...named.map(({ name }) => name),
    ...frame.selectors.map(({ name }) => name),
    ...frame.counters.map(({ name }) => name),
  ]);
  const enriched = found.map((signal) => {
    const { signal: rich, suggested } = enrich(signal, frame, input, capture);
    const name = unusedName(suggested ?? rich.name, used);
    used.add(name);
    return { ...rich, name };
  });
  return [...named, ...enriched];
}

function restOf(frame: MapFrame, input: AssembleInput, capture: string): MapFrame['rest'] {
  const found = (input.rest ?? []).find((one) => isFrame(frame, one));
  return found ? { payload: found.payload, capture, fromS: found.fromS, toS: found.toS } : null;
}

/** A sender has its group's letter for a name until a person gives one. */
function senderOf(surveyed: SurveyFrame | undefined, { groups }: Survey): MapFrame['sender'] {
  if (!surveyed || surveyed.group === null) return null;
  const { group, groupConfidence, byHand } = surveyed;
  const name = groups.find((one) => one.group === group)?.name ?? `sender ${group}`;
  return { group, name, confidence: groupConfidence ?? 0, ...(byHand ? { byHand: true } : {}) };
}

function frameOf(findings: FrameFindings, input: AssembleInput, capture: string): MapFrame {
  const surveyed = input.survey.frames.find((one) => one.direction === 'received' && isFrame(one, findings));
  const listed = toMapFrame(findings, surveyed?.timing ?? UNKNOWN_TIMING);
  const frame = (input.asked ?? []).some((key) => isFrame(listed, key)) ? asAsked(listed) : listed;
  const signals = signalsOf(frame, input, capture);
  const sender = senderOf(surveyed, input.survey);
  return {
    ...frame,
    role: sender && input.partSenders?.includes(sender.group) ? 'sent-by-part' : frame.role,
    name: (input.frameNames ?? []).find((one) => isFrame(frame, one))?.name ?? frame.name,
    sender,
    rest: restOf(frame, input, capture),
    signals,
    unclaimed: frame.unclaimed.flatMap((unclaimed) => leftUnclaimed(unclaimed, signals)),
  };
}

/** Reasons in words are for the screen; the map keeps figures. */
function withoutWhy<T>(entry: T): T {
  if (typeof entry !== 'object' || entry === null || !('why' in entry)) return entry;
  const { why: _why, ...rest } = entry as T & { why: unknown };
  return rest as T;
}

function plain(frame: MapFrame): MapFrame {
  return {
    ...frame,
    counters: frame.counters.map(withoutWhy),
    checksums: frame.checksums.map(withoutWhy),
    selectors: frame.selectors.map(withoutWhy),
    signals: frame.signals.map(withoutWhy),
    unclaimed: frame.unclaimed.map(withoutWhy),
  };
}

/** The signal map of a capture, as far as the findings go. Frames that the logger sent are not the vehicle's. */
export function assembleMap(input: AssembleInput): SignalMap {
  const capture = input.captures[0]?.id ?? 'c1';
  const received = input.findings.filter(({ direction }) => direction === 'received');
  const frames = received.map((findings) => plain(frameOf(findings, input, capture)));
  return {
    format: 'loomscribe.signal-map',
    version: 1,
    requires: requiredFeatures({ frames }),
    part: { ...input.part },
    made: { ...input.made },
    captures: [...input.captures],
    buses: input.survey.buses.map(({ name, bitrate, dataBitrate }) => ({ name, bitrate, dataBitrate })),
    frames,
    sequences: toMapSequences(input.sequences ?? [], frames),
  };
}
