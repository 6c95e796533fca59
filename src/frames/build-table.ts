/** Makes a `FrameTable` from frames that are already objects: for tests, demos and small sources. */
import { FrameBuilder } from './builder.ts';
import type { ClockOrigin, Direction, FrameTable } from './table.ts';

export interface PlainFrame {
  /** Microseconds since any common start; the table counts from its first frame. */
  readonly timeUs: number;
  readonly bus: string;
  readonly id: number;
  /** Default: whether the identifier needs more than 11 bits. */
  readonly extended?: boolean;
  /** Default 'received'. */
  readonly direction?: Direction;
  readonly data: ArrayLike<number>;
  /** FD_FORMAT and its companions; default 0. */
  readonly fdFlags?: number;
}

const RELATIVE_START: ClockOrigin = { kind: 'relative', text: '0.000000' };

/** In any order; the order given is the order of arrival. `origin` is what the first frame's stamp said. */
export function buildTable(frames: Iterable<PlainFrame>, origin: ClockOrigin = RELATIVE_START): FrameTable {
  const builder = new FrameBuilder();
  for (const frame of frames) {
    const { timeUs, bus, id, extended = id > 0x7ff, direction = 'received', fdFlags = 0 } = frame;
    const slot = builder.slot(builder.busIndex(bus), id, extended, direction === 'sent');
    const data = Uint8Array.from(frame.data);
    builder.add(slot, timeUs, data, 0, data.length, fdFlags);
  }
  return builder.finish({ files: () => [], origin: () => origin });
}
