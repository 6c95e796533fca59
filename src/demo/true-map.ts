/** Completes a vehicle's true map with what a recording showed: observed ranges, the payload at rest, the files. */
import { sha256 } from '@noble/hashes/sha2.js';
import { compileFrame } from '../map/decode.ts';
import { formatPayload } from '../map/raw-values.ts';
import type { MapFrame, MapSignal, SignalMap } from '../map/schema.ts';
import { payloadAt, type Recording } from './recording/logger.ts';
import type { TrueFrame } from './true-frame.ts';

export interface NamedBytes {
  readonly name: string;
  readonly bytes: Uint8Array;
}

export function digestOf(bytes: Uint8Array): string {
  return Array.from(sha256(bytes), (byte) => byte.toString(16).padStart(2, '0')).join('');
}

interface Ranges {
  readonly least: Float64Array;
  readonly most: Float64Array;
}

function watchFrame(frame: TrueFrame): { watch: (payload: Uint8Array) => void; ranges: Ranges } {
  const compiled = compileFrame(frame.map);
  const ranges: Ranges = {
    least: new Float64Array(compiled.signals.length).fill(Infinity),
    most: new Float64Array(compiled.signals.length).fill(-Infinity),
  };
  const watch = (payload: Uint8Array): void => {
    compiled.signals.forEach((signal, index) => {
      if (signal.signal.kind === 'text' || !signal.present(payload, 0, payload.length)) return;
      const value = signal.physicalOf(signal.raw(payload, 0));
      if (value < (ranges.least[index] as number)) ranges.least[index] = value;
      if (value > (ranges.most[index] as number)) ranges.most[index] = value;
    });
  };
  return { watch, ranges };
}

function withRanges(map: MapFrame, { least, most }: Ranges): MapSignal[] {
  return map.signals.map((signal, index) => {
    const seen = (least[index] as number) <= (most[index] as number);
    return seen ? { ...signal, observed: { min: least[index] as number, max: most[index] as number } } : signal;
  });
}

export interface RestSpan {
  readonly fromS: number;
  readonly toS: number;
}

/** Seconds of `rest` are on the recording's clock, from its first frame. */
export function completeMap(
  recording: Recording,
  title: string,
  files: readonly NamedBytes[],
  rest: RestSpan | null,
): SignalMap {
  const { vehicle } = recording;
  const watchers = vehicle.frames.map(watchFrame);
  const restPayload: (string | null)[] = vehicle.frames.map(() => null);
  const originUs = recording.timeUs[0] ?? 0;
  for (let row = 0; row < recording.count; row++) {
    const index = recording.frame[row] as number;
    const payload = payloadAt(recording, row);
    watchers[index]?.watch(payload);
    const timeS = ((recording.timeUs[row] as number) - originUs) / 1e6;
    if (rest && restPayload[index] === null && timeS >= rest.fromS && timeS <= rest.toS)
      restPayload[index] = formatPayload(payload);
  }
  const frames = vehicle.frames.map((frame, index): MapFrame => {
    const payload = restPayload[index];
    const atRest = payload && rest ? { payload, capture: 'c1', ...rest } : null;
    return {
      ...frame.map,
      signals: withRanges(frame.map, (watchers[index] as { ranges: Ranges }).ranges),
      rest: atRest,
    };
  });
  const named = files.map(({ name, bytes }) => ({ name, bytes: bytes.length, sha256: digestOf(bytes) }));
  return { ...vehicle.map, captures: [{ id: 'c1', title, files: named }], frames };
}
