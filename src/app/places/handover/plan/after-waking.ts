/** The order in which the planned frames first came after a waking, as rows of delays. Pure. */
import type { PlannedFrame } from '../../../../handover/needs/types.ts';
import { frameKey } from '../../../../map/identifiers.ts';
import { displayId } from '../../../../kit/units.ts';
import type { DelayRow } from '../delays.ts';

export interface BusOrder {
  readonly bus: string;
  readonly rows: readonly DelayRow[];
}

/** By bus, each in the order of its delays: clocks of two buses do not begin together. */
export function afterWaking(frames: readonly PlannedFrame[]): readonly BusOrder[] {
  const buses = [...new Set(frames.map(({ frame }) => frame.bus))].sort();
  return buses.flatMap((bus) => {
    const rows = frames
      .filter(({ frame }) => frame.bus === bus)
      .flatMap(({ frame, firstAfterWakeMs: seen }): DelayRow[] =>
        seen === null
          ? []
          : [
              {
                key: frameKey(frame),
                label: displayId(Number(frame.id), frame.extended),
                group: frame.sender?.group ?? null,
                lowMs: seen.lowMs,
                highMs: seen.highMs,
                midMs: seen.midMs,
                seen: seen.n === 1 ? 'one waking' : `${seen.n} wakings`,
                inferred: false,
              },
            ],
      )
      .sort((a, b) => (a.midMs ?? 0) - (b.midMs ?? 0));
    return rows.length > 0 ? [{ bus, rows }] : [];
  });
}
