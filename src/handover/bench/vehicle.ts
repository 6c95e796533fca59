/**
 * What the part showed in its vehicle, at rest: the first thing a trial is judged by. From the payloads that the map keeps of that span, or from a
 * recording of the part that works.
 */
import { compileFrame } from '../../map/decode.ts';
import { frameKey } from '../../map/identifiers.ts';
import { parsePayload } from '../../map/raw-values.ts';
import type { MapFrame, SignalMap } from '../../map/schema.ts';
import { tellsState } from './observe-fields.ts';
import type { BenchRecord } from './record-schema.ts';

type Vehicle = NonNullable<BenchRecord['vehicle']>;

const isOwn = (frame: MapFrame): boolean => frame.role === 'sent-by-part';

function restFields(frame: MapFrame): Vehicle['fields'] {
  const payload = frame.rest && parsePayload(frame.rest.payload);
  if (!payload || !frame.signals.some(tellsState)) return [];
  return compileFrame(frame)
    .signals.filter(({ signal, present }) => tellsState(signal) && present(payload, 0, payload.length))
    .map((compiled) => ({
      frame: frameKey(frame),
      signal: compiled.signal.name,
      healthy: [Number(compiled.raw(payload, 0))],
    }));
}

/** Null where the map keeps no payload of the part at rest. */
export function vehicleAtRest(map: SignalMap): BenchRecord['vehicle'] {
  const own = map.frames.filter(isOwn);
  const rested = own.filter(({ rest }) => rest !== null);
  if (rested.length === 0) return null;
  const ids = new Set(rested.map(({ rest }) => rest?.capture));
  const title = map.captures.filter(({ id }) => ids.has(id)).map((capture) => capture.title || capture.id);
  return { title: title.join(', '), fields: own.flatMap(restFields), own: own.map(frameKey) };
}
