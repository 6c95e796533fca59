/** What the recording of one trial shows, as figures: frames of the part, its state and fault fields, what was sent, fault codes. It judges nothing. */
import type { FrameTable, Stream } from '../../frames/table.ts';
import { frameKey } from '../../map/identifiers.ts';
import type { MapFrame, SignalMap } from '../../map/schema.ts';
import { diagnosticsOf } from '../../reference/diagnostics/report.ts';
import { readStateFields, valuesAtEnd, type Watched } from './observe-fields.ts';
import { readSent } from './observe-sent.ts';
import type { TrialObservation } from './record-schema.ts';

export interface ObservedTrial {
  readonly sent: readonly string[];
  /** Frames that other trials send. */
  readonly candidates: readonly string[];
  readonly stopped: { readonly key: string; readonly atS: number } | null;
  readonly settleS: number;
  /** Values that the trial sends other than those at rest: held against what is on the bus. */
  readonly values?: readonly { readonly frame: string; readonly signal: string; readonly value: number }[];
  /** A number of the part that may follow them. */
  readonly follows?: { readonly frame: string; readonly signal: string } | null;
  /** Period that each frame is sent with, by key; those that are not there have none. */
  readonly periodsMs: Readonly<Record<string, number>>;
}

/** Of what was watched, the end, in which the part is as the trial leaves it. */
const END_SHARE = 0.2;
const END_LEAST_S = 1;
/** A part whose usual frames come slower than this is not missed at the end of a trial. */
const END_LEAST_FRAMES = 3;

type Key = Pick<MapFrame, 'bus' | 'id' | 'extended'>;

/** By key; of a frame that the logger also heard itself send, the stream with more frames. */
function streamFinder(table: FrameTable): (frame: Key) => Stream | undefined {
  const byKey = new Map<string, Stream>();
  for (const stream of table.streams) {
    const key = frameKey({ bus: stream.bus, id: `0x${stream.id.toString(16)}`, extended: stream.extended });
    const other = byKey.get(key);
    if (stream.count > 0 && (!other || other.count < stream.count)) byKey.set(key, stream);
  }
  return (frame) => byKey.get(frameKey(frame));
}

const framesFrom = (stream: Stream, fromUs: number): number => {
  let row = stream.count;
  while (row > 0 && (stream.timeUs[row - 1] as number) >= fromUs) row--;
  return stream.count - row;
};

function ownOf(
  frame: MapFrame,
  stream: Stream,
  { fromUs, endFromUs }: Watched,
  endUs: number,
): TrialObservation['own'][number] {
  const { periodMs } = frame.timing;
  const expected = periodMs === null ? null : Math.floor((endUs - endFromUs) / 1000 / periodMs);
  return {
    key: frameKey(frame),
    frames: stream.count,
    atEnd: framesFrom(stream, endFromUs),
    expectedAtEnd: expected !== null && expected >= END_LEAST_FRAMES ? expected : null,
    lastS: ((stream.timeUs[stream.count - 1] as number) - fromUs) / 1e6,
  };
}

/** Of each module that answered, the codes that fail by its newest answer. */
function failingCodes(table: FrameTable): TrialObservation['codes'] {
  const newest = new Map<string, { atUs: number; codes: TrialObservation['codes'] }>();
  for (const { faults } of diagnosticsOf(table).report.conversations) {
    for (const { bus, id, atUs, codes } of faults) {
      const name = `${bus}/${id}`;
      if ((newest.get(name)?.atUs ?? -1) > atUs) continue;
      const failing = codes.filter(({ isFailing }) => isFailing);
      newest.set(name, {
        atUs,
        codes: failing.map(({ code, isLostCommunication }) => ({ code, lost: isLostCommunication })),
      });
    }
  }
  return [...newest.values()].flatMap(({ codes }) => codes);
}

/** Nothing at all was heard while nothing was sent: no file can show that, a person says it. */
export const silentObservation = (settleS: number): TrialObservation => ({
  watchedS: settleS,
  own: [],
  fields: [],
  sent: [],
  strangers: [],
  followed: null,
  codes: [],
});

interface NamedSignal {
  readonly frame: string;
  readonly signal: string;
}

/** Null where it is not heard at the end. */
function followedOf(
  { frame: key, signal }: NamedSignal,
  byKey: ReadonlyMap<string, MapFrame>,
  streamOf: (frame: Key) => Stream | undefined,
  { endFromUs }: Watched,
): TrialObservation['followed'] {
  const frame = byKey.get(key);
  const stream = frame && streamOf(frame);
  const values = frame && stream ? valuesAtEnd(frame, signal, stream, endFromUs) : [];
  if (values.length === 0) return null;
  const at = (share: number): number => values[Math.floor(share * (values.length - 1))] as number;
  return { frame: key, signal, middle: at(0.5), low: at(0.1), high: at(0.9), n: values.length };
}

/** Cost: O(frames of the part and of what is sent). */
export function observeTrial(
  map: Pick<SignalMap, 'frames'>,
  table: FrameTable,
  trial: ObservedTrial,
): TrialObservation {
  const streamOf = streamFinder(table);
  const heard = table.streams.filter(({ count }) => count > 0);
  const fromUs = heard.reduce((least, { timeUs }) => Math.min(least, timeUs[0] as number), Infinity);
  if (!Number.isFinite(fromUs)) return silentObservation(trial.sent.length === 0 ? trial.settleS : 0);
  const lastUs = heard.reduce((most, { timeUs, count }) => Math.max(most, timeUs[count - 1] as number), fromUs);
  // With nothing sent a module that sleeps ends the recording for the reader: how long it ran on shows nowhere in it.
  const endUs = trial.sent.length === 0 ? Math.max(lastUs, fromUs + trial.settleS * 1e6) : lastUs;
  const endS = Math.max(END_LEAST_S, (END_SHARE * (endUs - fromUs)) / 1e6);
  const watched: Watched = { fromUs, endFromUs: endUs - endS * 1e6 };
  const ownFrames = map.frames.filter(({ role }) => role === 'sent-by-part');
  const own = ownFrames.flatMap((frame) => {
    const stream = streamOf(frame);
    return stream ? [{ frame, stream }] : [];
  });
  const byKey = new Map(map.frames.map((frame) => [frameKey(frame), frame]));
  const { stopped } = trial;
  const sent = trial.sent.flatMap((key) => {
    const frame = byKey.get(key);
    if (!frame) return [];
    const toUs = stopped?.key === key ? Math.min(endUs, fromUs + stopped.atS * 1e6) : endUs;
    const values = (trial.values ?? []).filter((value) => value.frame === key);
    return [
      { key, ...readSent(frame, streamOf(frame), { fromUs, toUs, periodMs: trial.periodsMs[key] ?? null, values }) },
    ];
  });
  const strangers = trial.candidates.filter((key) => {
    const frame = trial.sent.includes(key) ? undefined : byKey.get(key);
    return frame !== undefined && streamOf(frame) !== undefined;
  });
  return {
    watchedS: (endUs - fromUs) / 1e6,
    own: own.map(({ frame, stream }) => ownOf(frame, stream, watched, endUs)),
    fields: own.flatMap(({ frame, stream }) => readStateFields(frame, stream, watched)),
    sent,
    strangers,
    followed: trial.follows ? followedOf(trial.follows, byKey, streamOf, watched) : null,
    codes: failingCodes(table),
  };
}
