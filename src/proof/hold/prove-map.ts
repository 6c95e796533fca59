/**
 * A map held against a capture that it was not made from: presence, length, timing, counters, checksums, selectors, signals; of
 * these also what references, marks and physical laws say. What the capture cannot test is "not-exercised" and never counts as held.
 */
import type { FrameTable, Stream } from '../../frames/table.ts';
import { checkpoint, part, type Control } from '../../kit/control.ts';
import type { Problem } from '../../kit/outcome.ts';
import { compileFrame, type CompiledFrame } from '../../map/decode.ts';
import { idNumber } from '../../map/identifiers.ts';
import type { MapFrame, SignalMap } from '../../map/schema.ts';
import { surveyTable } from '../../timing/survey.ts';
import type { Survey, SurveyFrame } from '../../timing/types.ts';
import { identifiersByBus, identifiersOfMap, matchBuses } from '../buses.ts';
import { heldBeside } from './beside.ts';
import type { HeldSignal } from './held-signal.ts';
import { proveCounters } from './prove-counters.ts';
import { proveChecksums, proveSelectors } from './prove-guards.ts';
import { proveSignals, type TellOf } from './prove-signals.ts';
import { silencesIn, type Silences } from './silences.ts';
import { proveLength, provePresence, proveTiming } from './prove-timing.ts';
import {
  MADE_FROM_THIS,
  type ProofFrame,
  type ProofInput,
  type ProofItem,
  type ProofReport,
  type ProofVerdict,
} from './types.ts';

/** One failure refuses a frame; it holds where it was present and nothing failed. */
function frameVerdict(items: readonly ProofItem[]): ProofVerdict {
  if (items.some(({ verdict }) => verdict === 'fails')) return 'fails';
  return items.some(({ verdict }) => verdict === 'holds') ? 'holds' : 'not-exercised';
}

/** Where no sender is named, most of what the map has on its bus stands for it. */
const MOST_OF_BUS = 0.8;

/** Whether what sends a frame is in the capture, as far as its other frames tell. */
function senderIsThere(map: SignalMap, frame: MapFrame, isThere: (frame: MapFrame) => boolean): boolean {
  const group = frame.sender?.group;
  const others = map.frames.filter((other) => other !== frame && other.bus === frame.bus);
  const same = others.filter(({ sender }) => group !== undefined && sender?.group === group);
  if (same.length > 0) return same.some(isThere);
  return others.filter(isThere).length >= MOST_OF_BUS * others.length;
}

interface Found {
  readonly stream: Stream | undefined;
  readonly surveyed: SurveyFrame | undefined;
}

interface Ground {
  readonly table: FrameTable;
  readonly survey: Survey;
  readonly silences: Silences;
  readonly tellOf: TellOf;
  readonly isSenderThere: () => boolean;
}

function proveFrame(
  compiled: CompiledFrame,
  { stream, surveyed }: Found,
  { table, survey, silences, tellOf, isSenderThere }: Ground,
): ProofItem[] {
  const { frame } = compiled;
  const presence = provePresence(frame, stream, survey, stream !== undefined || isSenderThere());
  if (!stream || !surveyed) return [presence];
  return [
    presence,
    proveLength(frame, stream),
    proveTiming(frame, stream, surveyed, survey, table),
    ...proveCounters(compiled, stream, surveyed, silences),
    ...proveChecksums(compiled, stream),
    ...proveSelectors(compiled, stream),
    ...proveSignals(compiled, stream, tellOf),
  ];
}

function sameCaptureWarning({ map, fileDigests }: ProofInput): Problem[] {
  const made = new Set(map.captures.flatMap(({ files }) => files.map(({ sha256 }) => sha256)).filter(Boolean));
  if (!fileDigests?.some((digest) => made.has(digest))) return [];
  return [
    {
      code: MADE_FROM_THIS,
      message: 'the map was made from this very recording: that it fits proves nothing.',
      advice: 'Record another power cycle or drive and hold the map against that.',
    },
  ];
}

/** Share of the work that references and marks take. */
const BESIDE = 0.4;

/** Linear in the frames of the streams that the map names. */
export async function proveMap(input: ProofInput, control: Control = {}): Promise<ProofReport> {
  const { table, map } = input;
  const buses = matchBuses(identifiersOfMap(map), identifiersByBus(table), input.busMap);
  const survey = surveyTable(table, {});
  const silences = silencesIn(table, survey);
  const frames: ProofFrame[] = [];
  const find = (frame: MapFrame): Found => {
    const bus = buses.get(frame.bus) ?? null;
    const id = idNumber(frame.id);
    const isIts = (one: Pick<Stream, 'bus' | 'extended' | 'direction'>): boolean =>
      one.bus === bus && one.extended === frame.extended && one.direction === 'received';
    return {
      stream: table.streams.find((stream) => isIts(stream) && stream.id === id),
      surveyed: survey.frames.find((surveyed) => isIts(surveyed) && idNumber(surveyed.id) === id),
    };
  };
  const found = new Map(map.frames.map((frame) => [frame, find(frame)]));
  const compiled = map.frames.map(compileFrame);
  const signals = compiled.flatMap(({ frame, signals: own }): HeldSignal[] => {
    const { stream } = found.get(frame) as Found;
    return stream ? own.map((signal) => ({ frame, compiled: signal, stream })) : [];
  });
  const { tellOf, ...beside } = await heldBeside(input, signals, part(control, 0, BESIDE));
  const own = part(control, BESIDE, 1);
  for (const [index, each] of compiled.entries()) {
    const { frame } = each;
    const isSenderThere = (): boolean => senderIsThere(map, frame, (other) => found.get(other)?.stream !== undefined);
    const items = proveFrame(each, found.get(frame) as Found, { table, survey, silences, tellOf, isSenderThere });
    const { id, extended, name } = frame;
    frames.push({ bus: frame.bus, id, extended, name, verdict: frameVerdict(items), items });
    await checkpoint(own, (index + 1) / map.frames.length, `proving ${frame.name}`);
  }
  return { frames, buses: Object.fromEntries(buses), warnings: sameCaptureWarning(input), ...beside };
}
