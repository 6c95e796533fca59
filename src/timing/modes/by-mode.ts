/**
 * An identifier's timing in each mode. One that keeps one pace has it in every mode in which it is sent; one that changes its pace is judged
 * anew from the frames of each mode alone, so that no figure is a blend of two.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import { upperBound } from '../../frames/pictures/columns.ts';
import type { Stream } from '../../frames/table.ts';
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import type { MapTiming } from '../../map/schema.ts';
import { judgeTiming } from '../kinds/kind.ts';
import { payloadVariety } from '../payloads.ts';
import type { ModeSpan } from './types.ts';

type PlainTiming = NonNullable<MapTiming['byMode']>[string];
interface Rows {
  readonly from: number;
  readonly to: number;
}

/** Rows of a stream that fall into the spans of one mode. */
function rowsIn(stream: Stream, spans: readonly ModeSpan[]): Rows[] {
  return spans
    .map(({ fromS, toS }) => ({
      from: upperBound(stream.timeUs, fromS * MICROS_PER_SECOND - 1),
      to: upperBound(stream.timeUs, toS * MICROS_PER_SECOND - 1),
    }))
    .filter(({ from, to }) => to > from);
}

const countOf = (rows: readonly Rows[]): number => rows.reduce((sum, { from, to }) => sum + to - from, 0);

/** Frames of several spans one after the other. */
function gather(
  stream: Stream,
  changed: Uint8Array,
  rows: readonly Rows[],
): { timeUs: Float64Array; changed: Uint8Array } {
  const frames = countOf(rows);
  const out = { timeUs: new Float64Array(frames), changed: new Uint8Array(frames) };
  let filled = 0;
  for (const { from, to } of rows) {
    out.timeUs.set(stream.timeUs.subarray(from, to), filled);
    out.changed.set(changed.subarray(from, to), filled);
    filled += to - from;
  }
  return out;
}

/** Share of the frames that the period would make in a mode, below which the period is not kept there. */
const KEPT_SHARE = 0.6;

/** Whether about as many frames came in a mode as its period makes: else it is another mode's. */
function keepsPeriod({ kind, periodMs }: MapTiming, spans: readonly ModeSpan[], rows: readonly Rows[]): boolean {
  if (periodMs === null || kind !== 'periodic') return true;
  const due = spans.reduce((sum, { fromS, toS }) => sum + Math.floor((1000 * (toS - fromS)) / periodMs), 0);
  return countOf(rows) >= KEPT_SHARE * due;
}

/** @param modes of the capture @param isOnePace its period is the same whenever it is sent. O(n) where it is not. */
export function* timingByMode(
  stream: Stream,
  timing: MapTiming,
  modes: readonly ModeSpan[],
  isOnePace: boolean,
): Steps<MapTiming['byMode']> {
  const { byMode: _old, ...plain } = timing;
  let changed: Uint8Array | null = null;
  const byMode: Record<string, PlainTiming> = {};
  for (const mode of new Set(modes.map((span) => span.mode))) {
    const spans = modes.filter((span) => span.mode === mode);
    const rows = rowsIn(stream, spans);
    if (rows.length === 0) continue;
    if (isOnePace && keepsPeriod(timing, spans, rows)) byMode[mode] = plain;
    else {
      changed ??= (yield* payloadVariety(stream)).changed;
      const own = gather(stream, changed, rows);
      byMode[mode] = (yield* judgeTiming(own.timeUs, own.changed)).timing;
    }
    yield;
  }
  return byMode;
}
