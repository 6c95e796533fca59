/** The mode that a part is kept alive for, and a frame's period in it. */
import type { MapTiming } from '../../map/schema.ts';

/** The one that matters most first. */
const MODES_THAT_MATTER = ['driving', 'ready', 'on', 'charging'];

export interface KeptMode {
  /** Null where the timing is not told by mode. */
  readonly mode: string | null;
  readonly periodMs: number | null;
}

/** The mode that matters most of those in which the frame has a period; else the usual one. */
export function keptMode({ byMode = {}, periodMs }: MapTiming): KeptMode {
  const mode = MODES_THAT_MATTER.find((name) => (byMode[name]?.periodMs ?? null) !== null) ?? null;
  return mode === null ? { mode, periodMs } : { mode, periodMs: byMode[mode]?.periodMs ?? null };
}
