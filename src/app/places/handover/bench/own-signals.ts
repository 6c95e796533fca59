/** Signals that a trial may send with another value, and numbers of the part that may follow. Pure. */
import { frameKey } from '../../../../map/identifiers.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import type { BenchOf } from './kept.ts';
import type { BenchRecord } from '../../../../handover/bench/record-schema.ts';

export interface NamedSignal {
  /** Key of its frame. */
  readonly frame: string;
  readonly signal: string;
  /** "frame.signal", for a person. */
  readonly called: string;
}

function signalsOf(frames: SignalMap['frames'], kinds: readonly string[]): NamedSignal[] {
  return frames.flatMap((frame) =>
    frame.signals
      .filter(({ kind }) => kinds.includes(kind))
      .map(({ name }) => ({ frame: frameKey(frame), signal: name, called: `${frame.name || frame.id}.${name}` })),
  );
}

export function sendableSignals({ map, record }: BenchOf & { readonly record: BenchRecord }): NamedSignal[] {
  const keys = new Set(record.candidates.map(({ key }) => key));
  return signalsOf(
    map.frames.filter((frame) => keys.has(frameKey(frame))),
    ['number', 'states', 'flag'],
  );
}

export const ownNumbers = ({ frames }: Pick<SignalMap, 'frames'>): NamedSignal[] =>
  signalsOf(
    frames.filter(({ role }) => role === 'sent-by-part'),
    ['number'],
  );
