/**
 * One map with a capture of it, for tests that hold generated code and readers against the program's own decoder. Made so
 * that everything is encoded: each signal may go where its bits reach, each frame has a payload to start from.
 */
import { lengthAt, type FrameTable } from '../../../src/frames/table.ts';
import { requiredFeatures } from '../../../src/map/features.ts';
import { frameKey } from '../../../src/map/identifiers.ts';
import { physicalLimits } from '../../../src/map/limits.ts';
import { formatPayload } from '../../../src/map/raw-values.ts';
import type { MapFrame, MapSignal, SignalMap } from '../../../src/map/schema.ts';

export interface CapturedFrame {
  /** Into the map's frames. */
  readonly index: number;
  readonly payload: Uint8Array;
}

/** What a person works out on paper for one payload. */
export interface Vector {
  readonly index: number;
  readonly payload: string;
  /** Physical values, texts, or null for "no value"; signals that are not on the page are not named. */
  readonly values: Readonly<Record<string, number | string | null>>;
  readonly counters?: Readonly<Record<string, number>>;
  /** One for each checksum that is on, in the map's order. Default: all hold. */
  readonly holds?: readonly boolean[];
}

export interface MapCase {
  readonly name: string;
  readonly map: SignalMap;
  /** In the order of time. */
  readonly capture: readonly CapturedFrame[];
  readonly vectors: readonly Vector[];
}

/** The range of what the bits can hold; a flag's two values need no other. */
function freed(signal: MapSignal): MapSignal {
  const limits = physicalLimits(signal);
  return limits ? { ...signal, observed: { ...limits }, allowed: null } : signal;
}

const restOf = (payload: Uint8Array): NonNullable<MapFrame['rest']> => ({
  payload: formatPayload(payload),
  capture: 'c1',
  fromS: 0,
  toS: 1,
});

/** rest: of each frame, where it has none of its own. */
export function freeMap(map: SignalMap, rest: (index: number) => Uint8Array | undefined): SignalMap {
  const frames = map.frames.map((frame, index): MapFrame => {
    const payload = rest(index);
    const signals = frame.signals.map(freed);
    return { ...frame, signals, rest: frame.rest ?? (payload ? restOf(payload) : null) };
  });
  return { ...map, requires: requiredFeatures({ frames }), frames };
}

/** The frames of a capture that the map describes and that have its length, in time order, at most so many. */
export function capturedOf(table: FrameTable, map: SignalMap, most: number): CapturedFrame[] {
  const indexes = new Map(map.frames.map((frame, index) => [frameKey(frame), index]));
  const all = table.streams.flatMap((stream) => {
    const { bus, id, extended } = stream;
    const index = indexes.get(frameKey({ bus, id: `0x${id.toString(16).toUpperCase()}`, extended }));
    if (index === undefined) return [];
    return Array.from({ length: stream.count }, (_, row) => {
      const at = row * stream.stride;
      return {
        timeUs: stream.timeUs[row] as number,
        index,
        payload: stream.payload.slice(at, at + lengthAt(stream, row)),
      };
    }).filter(({ payload }) => payload.length === map.frames[index]?.length);
  });
  return all
    .sort((a, b) => a.timeUs - b.timeUs)
    .slice(0, most)
    .map(({ index, payload }) => ({ index, payload }));
}

/** The map of a capture, freed, each frame resting as its first frame was. */
export function caseOf(name: string, table: FrameTable, map: SignalMap, most: number): MapCase {
  const capture = capturedOf(table, map, most);
  const first = new Map(capture.toReversed().map(({ index, payload }) => [index, payload]));
  return { name, map: freeMap(map, (index) => first.get(index)), capture, vectors: [] };
}

export const releasedIn = (map: SignalMap): string[] =>
  map.frames.flatMap(({ name, signals }) => signals.map((signal) => `${name}.${signal.name}`));
