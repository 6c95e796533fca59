/** How far two clocks drift apart that order drew: what their lines' samples say of the two together, and the edges of stamps' steps. */
import type { DrawnClock } from './clock-reading.ts';

interface DrawnApart {
  readonly ppm: number;
  readonly se: number;
}

/** No fit of order is surer, ppm: waits are no noise alone. */
const LEAST_PPM = 0.2;

function spreadOfDifferences(a: Float64Array, b: Float64Array): number {
  const n = a.length;
  const apart = a.map((value, i) => value - (b[i] as number));
  const middle = apart.reduce((sum, value) => sum + value, 0) / n;
  return Math.sqrt(apart.reduce((sum, value) => sum + (value - middle) ** 2, 0) / (n - 1));
}

/**
 * By how much edges may shift over a capture: the mean wait for a frame under way, 135 bits at 500 kbit/s last 270 us (ISO 11898-1), as one
 * module's frames come to wait for another's while they pass.
 */
const WAIT_US = 135;
/** A shift of up to so much has this standard deviation, as a share. */
export const SHIFT_SD = 0.5;

/** @param endUs how long the capture is, microseconds */
export function drawnApart(a: DrawnClock, b: DrawnClock, endUs: number): DrawnApart {
  const order = {
    ppm: a.ppm - b.ppm,
    se: Math.hypot(LEAST_PPM, spreadOfDifferences(a.samplesPpm, b.samplesPpm)),
  };
  if (!a.edges || !b.edges) return order;
  const shiftPpm = (SHIFT_SD * WAIT_US * 1e6) / (endUs / 2);
  const edges = { ppm: a.edges.ppm - b.edges.ppm, se: Math.hypot(a.edges.se, b.edges.se, shiftPpm) };
  const [byOrder, byEdges] = [1 / order.se ** 2, 1 / edges.se ** 2];
  const ppm = (byOrder * order.ppm + byEdges * edges.ppm) / (byOrder + byEdges);
  return { ppm, se: 1 / Math.sqrt(byOrder + byEdges) };
}
