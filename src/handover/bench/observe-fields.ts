/** What the state and fault fields of the part show in a trial: each field's value at the end, since when, and which values it had at all. */
import { placementLength } from '../../frames/bits.ts';
import { lengthAt, type Stream } from '../../frames/table.ts';
import { compileFrame, type CompiledSignal } from '../../map/decode.ts';
import { frameKey } from '../../map/identifiers.ts';
import { NUMBER_BITS } from '../../map/raw-values.ts';
import type { MapFrame, MapSignal } from '../../map/schema.ts';
import type { FieldReading } from './record-schema.ts';

/** Fields whose values say how the part is: by their role, or because their values have names. */
export const tellsState = (signal: MapSignal): boolean =>
  placementLength(signal) <= NUMBER_BITS &&
  signal.coding !== 'text' &&
  (signal.role === 'state' || signal.role === 'fault' || (signal.kind === 'states' && signal.role === 'unknown'));

/** So many values are kept as seen. */
const VALUES_KEPT = 32;

export interface Watched {
  /** Power-up: the first frame, microseconds. */
  readonly fromUs: number;
  /** The end of the trial begins here. */
  readonly endFromUs: number;
}

type ReadValues = Pick<FieldReading, 'raw' | 'share' | 'seen' | 'sinceS' | 'beforeS'>;

interface Run {
  readonly raw: number;
  readonly sinceUs: number;
}

function readField(compiled: CompiledSignal, stream: Stream, { fromUs, endFromUs }: Watched): ReadValues {
  const seen = new Set<number>();
  const atEnd = new Map<number, number>();
  let run: Run | null = null;
  let beforeUs: number | null = null;
  let lastUs = 0;
  for (let row = 0; row < stream.count; row++) {
    const at = row * stream.stride;
    if (!compiled.present(stream.payload, at, lengthAt(stream, row))) continue;
    const raw = Number(compiled.raw(stream.payload, at));
    const timeUs = stream.timeUs[row] as number;
    if (seen.size < VALUES_KEPT) seen.add(raw);
    if (timeUs >= endFromUs) atEnd.set(raw, (atEnd.get(raw) ?? 0) + 1);
    if (run === null || run.raw !== raw) {
      if (run !== null) beforeUs = lastUs;
      run = { raw, sinceUs: timeUs };
    }
    lastUs = timeUs;
  }
  const total = [...atEnd.values()].reduce((a, b) => a + b, 0);
  const share = run === null || total === 0 ? 0 : (atEnd.get(run.raw) ?? 0) / total;
  const seconds = (us: number | null): number | null => (us === null ? null : (us - fromUs) / 1e6);
  return {
    raw: total === 0 || run === null ? null : run.raw,
    share,
    seen: [...seen].sort((a, b) => a - b),
    sinceS: seconds(run?.sinceUs ?? null),
    beforeS: seconds(beforeUs),
  };
}

/** Cost: O(frames of the stream x fields that tell). */
export function readStateFields(frame: MapFrame, stream: Stream, watched: Watched): FieldReading[] {
  if (!frame.signals.some(tellsState)) return [];
  return compileFrame(frame)
    .signals.filter(({ signal }) => tellsState(signal))
    .map((compiled) => ({
      frame: frameKey(frame),
      signal: compiled.signal.name,
      role: compiled.signal.role,
      ...readField(compiled, stream, watched),
    }));
}

/** Physical values of one number from an instant on, ascending; empty where the frame has none of that name. */
export function valuesAtEnd(frame: MapFrame, name: string, stream: Stream, fromUs: number): number[] {
  const compiled = compileFrame(frame).signals.find(({ signal }) => signal.name === name);
  if (!compiled) return [];
  const values: number[] = [];
  for (let row = 0; row < stream.count; row++) {
    const at = row * stream.stride;
    if ((stream.timeUs[row] as number) < fromUs || !compiled.present(stream.payload, at, lengthAt(stream, row)))
      continue;
    const value = compiled.physicalOf(compiled.raw(stream.payload, at));
    if (!Number.isNaN(value)) values.push(value);
  }
  return values.sort((a, b) => a - b);
}
