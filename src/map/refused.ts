/**
 * Frames of a map that need a feature this program lacks. They are kept out of `frames`, so that nothing decodes them
 * wrongly, and go along with the map under a symbol, so that nothing is lost when it is written again.
 */
import type { SignalMap } from './schema.ts';

export interface RefusedFrame {
  /** Place in the file's list of frames. */
  readonly index: number;
  readonly frame: unknown;
}

const REFUSED = Symbol('frames that need a feature this program lacks');
type Carrier = { readonly [REFUSED]?: readonly RefusedFrame[] };

export function withRefused(map: SignalMap, refused: readonly RefusedFrame[]): SignalMap {
  return refused.length > 0 ? { ...map, [REFUSED]: refused } : map;
}

/** In the order of their places. Copied along by `{ ...map }`, lost by posting to a worker. */
export const refusedFrames = (map: SignalMap): readonly RefusedFrame[] => (map as Carrier)[REFUSED] ?? [];
