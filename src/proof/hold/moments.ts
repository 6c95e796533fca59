/** When something was seen: the first of many, as a person looks at them one click away. */
import type { Stream } from '../../frames/table.ts';

/** Moments that are kept of all that fail. */
export const MOMENTS_MOST = 20;

/** Seconds from the capture's origin of the first rows given. */
export const momentsOf = (stream: Stream, rows: readonly number[]): number[] =>
  rows.slice(0, MOMENTS_MOST).map((row) => (stream.timeUs[row] as number) / 1e6);
