/**
 * Jitter where the logger's clock jumped: intervals that straddle a known jump are no interval of the sender's and are left out. Of an
 * identifier that is seldom sent, one such interval in a few dozen would else pass for looseness. What is left of an interval beyond whole
 * periods has the errors of two frames: its spread is jitter times the root of two.
 */
import type { FrameTable } from '../../frames/table.ts';
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import type { ClockJump } from '../clock/jumps.ts';
import { quantile, robustSd } from '../robust.ts';
import type { SurveyFrame } from '../types.ts';
import { wrapped } from '../wrapped.ts';
import { toMs } from './finding.ts';

/** Fewer intervals tell no spread. */
const INTERVALS_LEAST = 8;

/** [n] microseconds: when a jump was, as its frames bound it. */
interface Instants {
  readonly fromUs: number;
  readonly toUs: number;
}

/** Microseconds; null where no interval straddles a jump, or too few are left. O(frames) */
export function jitterBesideJumps(timeUs: Float64Array, periodUs: number, jumps: readonly Instants[]): number | null {
  const straddles = (from: number, to: number): boolean => jumps.some(({ fromUs, toUs }) => from < toUs && to > fromUs);
  const kept: number[] = [];
  for (let row = 1; row < timeUs.length; row++) {
    const [from, to] = [timeUs[row - 1] as number, timeUs[row] as number];
    if (!straddles(from, to)) kept.push(to - from);
  }
  if (kept.length === timeUs.length - 1 || kept.length < INTERVALS_LEAST) return null;
  // The jump has drawn the period too: of the intervals that it left alone, those of one period say it better.
  const single = kept.filter((us) => Math.abs(us / periodUs - 1) < 0.5).sort((a, b) => a - b);
  const ownUs = single.length >= INTERVALS_LEAST ? quantile(Float64Array.from(single), 0.5) : periodUs;
  return robustSd(Float64Array.from(kept, (us) => wrapped(us, ownUs))) / Math.SQRT2;
}

/** Rows of the survey, in the order of the table's streams, with the jitter that is left beside jumps where that is less. */
export function withoutJumps(
  table: FrameTable,
  rows: readonly SurveyFrame[],
  jumps: readonly ClockJump[],
): readonly SurveyFrame[] {
  if (jumps.length === 0) return rows;
  return rows.map((row, at) => {
    const { periodMs, jitterMs, kind, burst } = row.timing;
    const stream = table.streams[at];
    if (!stream || kind !== 'periodic' || burst || periodMs === null || jitterMs === null) return row;
    const own = jumps
      .filter(({ bus }) => bus === row.bus)
      .map(({ fromS, atS }) => ({ fromUs: fromS * MICROS_PER_SECOND, toUs: atS * MICROS_PER_SECOND }));
    const jitterUs = jitterBesideJumps(stream.timeUs, 1000 * periodMs, own);
    const isLess = jitterUs !== null && jitterUs < 1000 * jitterMs;
    return isLess ? { ...row, timing: { ...row.timing, jitterMs: toMs(jitterUs) } } : row;
  });
}
