/** From a signal to what the engine is asked for: physical values of a named one, raw values of a mere field. */
import type { FrameFindings } from '../../../fields/types.ts';
import type { StreamKey } from '../../../frames/table.ts';
import type { TraceRequest } from '../../../jobs/engine-types.ts';
import type { MapSignal } from '../../../map/schema.ts';

export function traceRequestOf(stream: StreamKey, signal: MapSignal, findings: FrameFindings | null): TraceRequest {
  const { lsb, length, order, continues, coding, when, scale, offset, table } = signal;
  return {
    stream,
    placement: continues ? { lsb, length, order, continues } : { lsb, length, order },
    coding,
    when,
    selectors: when ? (findings?.selectors ?? []) : undefined,
    scale,
    offset,
    table,
    invalid: signal.invalid.map(({ from, to }) => ({ from: Number(from), to: Number(to) })),
  };
}

/** The same field, unscaled. */
export const rawRequestOf = (request: TraceRequest): TraceRequest => ({
  ...request,
  scale: 1,
  offset: 0,
  table: null,
});

/** Raw values with no coding applied: what states are told by. */
export const unsignedRequestOf = (request: TraceRequest): TraceRequest => ({
  ...rawRequestOf(request),
  coding: 'unsigned',
});
