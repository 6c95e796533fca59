/** What is said of one identifier's timing, and how its figures are written. */
import type { MapTiming } from '../../map/schema.ts';
import type { Grid } from './grid.ts';
import { quantile, sortedSample } from '../robust.ts';

export interface TimingFinding {
  readonly timing: MapTiming;
  /** For a person, with figures. */
  readonly why: string;
  /** A longer interval than this is a silence; Infinity where silence is no news. */
  readonly gapLimitUs: number;
  /** [n] ticks since the frame before, or null without a grid. */
  readonly ticks: Int32Array | null;
}

/** Microseconds as the map writes milliseconds: six digits, more than any clock here can carry. */
export const toMs = (us: number): number => Number((us / 1000).toPrecision(6));

export const percent = (share: number): string =>
  `${(100 * share).toFixed((share > 0.995 && share < 1) || (share > 0 && share < 0.01) ? 2 : 0)} %`;

export const showMs = (us: number): string => `${Number((us / 1000).toPrecision(4))} ms`;

/** Silence is news after five periods, and where intervals are loose after thrice what hardly any exceeds. */
export function gapLimit(periodUs: number, spacing: Float64Array): number {
  const usual = quantile(sortedSample(spacing), spacing.length >= 300 ? 0.99 : 0.95);
  return Math.max(5 * periodUs, 3 * usual);
}

export function withoutPeriod(kind: MapTiming['kind'], why: string): TimingFinding {
  return { timing: { kind, periodMs: null, jitterMs: null }, why, gapLimitUs: Infinity, ticks: null };
}

export function onGrid(grid: Grid, spacing: Float64Array, why: string): TimingFinding {
  const timing: MapTiming = { kind: 'periodic', periodMs: toMs(grid.periodUs), jitterMs: toMs(grid.jitterUs) };
  return { timing, why, gapLimitUs: gapLimit(grid.periodUs, spacing), ticks: grid.ticks };
}

/** Frames beside the beat take no tick: none is counted as missing. */
export function onBeat(
  { periodUs, jitterUs }: Pick<Grid, 'periodUs' | 'jitterUs'>,
  spacing: Float64Array,
  why: string,
): TimingFinding {
  const timing: MapTiming = { kind: 'mixed', periodMs: toMs(periodUs), jitterMs: toMs(jitterUs) };
  return { timing, why, gapLimitUs: gapLimit(periodUs, spacing), ticks: null };
}
