/** A signal of the map and the frames of this capture that it is read from. */
import type { Stream } from '../../frames/table.ts';
import type { CompiledSignal } from '../../map/decode.ts';
import type { ProposedFrame } from '../../map/proposed-fields.ts';
import type { MapFrame } from '../../map/schema.ts';

export interface HeldSignal {
  readonly frame: MapFrame;
  readonly compiled: CompiledSignal;
  readonly stream: Stream;
}

/** As the finders of links and fits take fields, on the capture's buses; fields are called by their signals. */
export function findingsOf(signals: readonly HeldSignal[]): ProposedFrame[] {
  const byStream = new Map<Stream, HeldSignal[]>();
  for (const held of signals) byStream.set(held.stream, [...(byStream.get(held.stream) ?? []), held]);
  return [...byStream].map(([{ bus, extended }, own]) => ({
    bus,
    id: (own[0] as HeldSignal).frame.id,
    extended,
    direction: 'received' as const,
    selectors: (own[0] as HeldSignal).frame.selectors,
    fields: own.map(({ compiled: { signal } }) => signal),
  }));
}
