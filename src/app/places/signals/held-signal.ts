/** The signals of the dossier as rows, and the one that is held. */
import { useMemo } from 'react';
import type { FrameFindings } from '../../../fields/types.ts';
import type { StreamKey } from '../../../frames/table.ts';
import type { TraceRequest } from '../../../jobs/engine-types.ts';
import type { MapSignal } from '../../../map/schema.ts';
import { useFields, useLinks } from '../../stores/asking.ts';
import { useDossier } from '../../stores/dossier.ts';
import { proofsFor, takenProofs, withTaken } from '../../stores/proofs.ts';
import { useView } from '../../stores/view.ts';
import type { FrameKey } from '../payloads/decisions.ts';
import { findingsFor } from '../payloads/held.ts';
import { withLiveLinks } from './naming.ts';
import { traceRequestOf } from '../payloads/trace-request.ts';

export interface SignalRow {
  readonly key: string;
  readonly frame: FrameKey;
  readonly stream: StreamKey;
  readonly signal: MapSignal;
  readonly findings: FrameFindings | null;
  readonly request: TraceRequest;
}

export const streamOf = ({ bus, id, extended }: FrameKey): StreamKey => ({
  bus,
  id: Number(id),
  extended,
  direction: 'received',
});

export function useSignalRows(): readonly SignalRow[] {
  const signals = useDossier(({ dossier }) => dossier.signals);
  const taken = useDossier(({ dossier }) => takenProofs(dossier));
  const fields = useFields().value;
  const links = useLinks().value;
  const capture = useView(({ captureId }) => captureId) ?? '';
  const proofs = useMemo(() => proofsFor(taken, [capture]), [taken, capture]);
  return useMemo(
    () =>
      signals.map(({ bus, id, extended, signal: kept }) => {
        const frame = { bus, id, extended };
        const live = links ? withLiveLinks(kept, frame, links.actions, capture) : kept;
        const signal = withTaken(live, frame, proofs);
        const stream = streamOf(frame);
        const findings = findingsFor(fields, stream);
        return {
          key: `${bus} ${id}${extended ? 'x' : ''} ${signal.name}`,
          frame,
          stream,
          signal,
          findings,
          request: traceRequestOf(stream, signal, findings),
        };
      }),
    [signals, fields, links, capture, proofs],
  );
}

/** The row held: by name and identifier, else by name, else the first. */
export function useHeldSignal(rows: readonly SignalRow[]): SignalRow | null {
  const name = useView(({ selection }) => selection.signal);
  const stream = useView(({ selection }) => selection.stream);
  return useMemo(() => {
    const named = rows.filter(({ signal }) => signal.name === name);
    const here = named.find(
      (row) =>
        stream &&
        row.stream.id === stream.id &&
        row.stream.bus === stream.bus &&
        row.stream.extended === stream.extended,
    );
    return here ?? named[0] ?? rows[0] ?? null;
  }, [rows, name, stream]);
}

export function holdSignal({ stream, signal }: SignalRow): void {
  const { lsb, length, order, continues } = signal;
  useView.getState().select({
    stream,
    signal: signal.name,
    placement: continues ? { lsb, length, order, continues } : { lsb, length, order },
  });
}
