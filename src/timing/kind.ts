/**
 * Whether an identifier is sent on a grid, on a change, or both, and how surely. A grid is tried for each likely period; what
 * speaks is the share of frames on it, the frames beside it and whether those bring a new payload.
 */
import type { MapTiming } from '../map/schema.ts';
import { fitGrid, type Grid } from './grid.ts';
import { dispersion, findBursts, intervals, periodGuesses, sameStampShare, type Bursts } from './intervals.ts';
import { quantile, robustSd, sortedSample } from './robust.ts';

export interface TimingFinding {
  readonly timing: MapTiming;
  /** For a person, with figures. */
  readonly why: string;
  /** A longer interval than this is a silence; Infinity where silence is no news. */
  readonly gapLimitUs: number;
  /** [n] ticks since the frame before, or null without a grid. */
  readonly ticks: Int32Array | null;
}

/** So many of the frames on the grid make a stream periodic. */
const PERIODIC_SHARE = 0.85;
const EXTRA_SHARE_MAX = 0.03;
/** Below this spread against random times, a stream keeps a mean rate that chance does not. */
const STEADY_DISPERSION = 0.35;
const BATCHED_SHARE = 0.2;

const ms = (us: number): number => Number((us / 1000).toPrecision(6));
const percent = (share: number): string => `${(100 * share).toFixed(share > 0.995 && share < 1 ? 2 : 0)} %`;
const show = (us: number): string => `${Number((us / 1000).toPrecision(4))} ms`;

function plain(kind: MapTiming['kind'], why: string): TimingFinding {
  return { timing: { kind, periodMs: null, jitterMs: null }, why, gapLimitUs: Infinity, ticks: null };
}

/** Silence is news after five periods, and where intervals are loose after thrice what hardly any exceeds. */
function gapLimit(periodUs: number, spacing: Float64Array): number {
  const usual = quantile(sortedSample(spacing), spacing.length >= 300 ? 0.99 : 0.95);
  return Math.max(5 * periodUs, 3 * usual);
}

function bestGrid(timeUs: Float64Array, spacing: Float64Array): Grid | null {
  let best: Grid | null = null;
  for (const guess of periodGuesses(timeUs, spacing)) {
    const grid = fitGrid(timeUs, guess);
    if (!best || gridScore(grid) > gridScore(best)) best = grid;
  }
  return best;
}

function extraShare(grid: Grid): number {
  let extra = 0;
  for (let i = 1; i < grid.ticks.length; i++) if (grid.ticks[i] === 0) extra++;
  return extra / grid.ticks.length;
}

/** Frames on the grid, less ticks that no frame was found for: else any fine grid would hold everything. */
function gridScore(grid: Grid): number {
  let ticks = 0;
  for (let i = 1; i < grid.ticks.length; i++) ticks += Math.min(8, grid.ticks[i] as number);
  const filled = Math.min(1, (grid.ticks.length - 1) / Math.max(1, ticks));
  const tightness = 1 / (1 + (4 * grid.jitterUs) / grid.periodUs);
  return grid.onGrid * Math.sqrt(filled) * tightness;
}

function periodic(grid: Grid, spacing: Float64Array, why: string, bursts: Bursts | null = null): TimingFinding {
  const timing: MapTiming = { kind: 'periodic', periodMs: ms(grid.periodUs), jitterMs: ms(grid.jitterUs) };
  if (bursts) timing.burst = { count: bursts.count, periodMs: ms(bursts.periodUs) };
  return { timing, why, gapLimitUs: gapLimit(grid.periodUs, spacing), ticks: bursts ? null : grid.ticks };
}

function judgeBursts(timeUs: Float64Array, spacing: Float64Array): TimingFinding | null {
  const bursts = findBursts(timeUs, spacing);
  if (!bursts || bursts.startUs.length < 4) return null;
  const startSpacing = intervals(bursts.startUs);
  const grid = bestGrid(bursts.startUs, startSpacing);
  if (!grid || grid.onGrid < PERIODIC_SHARE) return null;
  const why = `${bursts.count} frames ${show(bursts.periodUs)} apart, again every ${show(grid.periodUs)}`;
  return periodic(grid, startSpacing, why, bursts);
}

/** Frames that share stamps: the order of stamps within a batch is lost, the mean rate is not. */
function judgeBatched(timeUs: Float64Array, spacing: Float64Array, same: number): TimingFinding | null {
  const n = timeUs.length;
  if (n < 32) return null;
  const limitUs = 20 * quantile(sortedSample(spacing), 0.95);
  let spanUs = 0;
  let steps = 0;
  for (const spacingUs of spacing) {
    if (spacingUs > limitUs) continue;
    spanUs += spacingUs;
    steps++;
  }
  const periodUs = spanUs / steps;
  const spread = dispersion(timeUs, periodUs);
  if (!(periodUs > 0) || !(spread < STEADY_DISPERSION)) return null;
  const jitterUs = robustSd(intervals(timeUs, Math.min(128, n >> 2))) / Math.SQRT2;
  return {
    timing: { kind: 'periodic', periodMs: ms(periodUs), jitterMs: ms(jitterUs) },
    why: `${percent(same)} of the frames carry the stamp of the one before, yet their number keeps pace at one in ${show(periodUs)}`,
    gapLimitUs: gapLimit(periodUs, spacing),
    ticks: null,
  };
}

interface Beside {
  /** Share of intervals well below the period. */
  readonly short: number;
  /** Of these, the share whose frame brings a new payload; of the others likewise. */
  readonly changedShort: number;
  readonly changedOther: number;
  /** Share of intervals well above the period that no whole number of ticks explains. */
  readonly late: number;
  /** Share of intervals within a tenth of the period. */
  readonly atPeriod: number;
}

function lookBeside(spacing: Float64Array, periodUs: number, changed: Uint8Array): Beside {
  let short = 0;
  let changedShort = 0;
  let changedOther = 0;
  let late = 0;
  let atPeriod = 0;
  for (let i = 0; i < spacing.length; i++) {
    const ratio = (spacing[i] as number) / periodUs;
    const isChanged = changed[i + 1] as number;
    if (ratio < 0.75) {
      short++;
      changedShort += isChanged;
      continue;
    }
    changedOther += isChanged;
    if (Math.abs(ratio - 1) <= 0.1) atPeriod++;
    else if (ratio > 1.25 && Math.abs(ratio - Math.round(ratio)) > 0.1) late++;
  }
  const n = spacing.length;
  return {
    short: short / n,
    changedShort: short ? changedShort / short : 0,
    changedOther: n > short ? changedOther / (n - short) : 0,
    late: late / n,
    atPeriod: atPeriod / n,
  };
}

/** A beat that is kept when nothing happens, and frames between its ticks that bring something new. */
function judgeMixed(grid: Grid, spacing: Float64Array, changed: Uint8Array): TimingFinding | null {
  const beside = lookBeside(spacing, grid.periodUs, changed);
  const beat = beside.atPeriod >= 0.25 && beside.late <= 0.03 && beside.short > EXTRA_SHARE_MAX;
  const news = beside.changedShort >= 0.8 && beside.changedShort >= beside.changedOther;
  if (!beat || !news) return null;
  const why =
    `${percent(beside.atPeriod)} of the intervals are ${show(grid.periodUs)}; ${percent(beside.short)} are shorter, ` +
    `and of those ${percent(beside.changedShort)} bring a new payload (of the others ${percent(beside.changedOther)})`;
  return {
    timing: { kind: 'mixed', periodMs: ms(grid.periodUs), jitterMs: ms(grid.jitterUs) },
    why,
    gapLimitUs: gapLimit(grid.periodUs, spacing),
    ticks: null,
  };
}

function judgeSteady(grid: Grid, timeUs: Float64Array, spacing: Float64Array): TimingFinding | null {
  const spread = dispersion(timeUs, grid.periodUs);
  if (!(spread < STEADY_DISPERSION) || grid.onGrid < 0.6) return null;
  const why = `a loose grid of ${show(grid.periodUs)}: ${percent(grid.onGrid)} of the frames within a quarter of it`;
  return periodic(grid, spacing, why);
}

function judgeIrregular(changed: Uint8Array, spacing: Float64Array): TimingFinding {
  let changes = 0;
  for (let i = 1; i < changed.length; i++) changes += changed[i] as number;
  const share = changes / Math.max(1, changed.length - 1);
  const usual = show(quantile(sortedSample(spacing), 0.5));
  if (share >= 0.5)
    return plain(
      'on-change',
      `no grid fits (median interval ${usual}); ${percent(share)} of the frames bring a new payload`,
    );
  return plain(
    'on-change',
    `no grid fits (median interval ${usual}); only ${percent(share)} of the frames bring a new payload, so what triggers the others does not show`,
  );
}

/** Two intervals are the least that can agree; a period from three or four frames is said to be thin. */
function judgeFew(spacing: Float64Array): TimingFinding {
  const sorted = Float64Array.from(spacing).sort();
  const least = sorted[0] as number;
  const most = sorted[sorted.length - 1] as number;
  if (least > 0 && most / least <= 1.05) {
    const periodUs = quantile(sorted, 0.5);
    return {
      timing: { kind: 'periodic', periodMs: ms(periodUs), jitterMs: ms(robustSd(spacing)) },
      why: `only ${spacing.length + 1} frames, all intervals within 5 % of ${show(periodUs)}`,
      gapLimitUs: gapLimit(periodUs, spacing),
      ticks: null,
    };
  }
  return plain('on-change', `only ${spacing.length + 1} frames at unequal intervals: too few to tell a period`);
}

/**
 * @param timeUs [n] ascending
 * @param changed [n] 1 where the payload differs from the frame before
 * Cost: O(n).
 */
export function judgeTiming(timeUs: Float64Array, changed: Uint8Array): TimingFinding {
  const n = timeUs.length;
  if (n <= 2) return plain('once', n === 1 ? 'seen once' : 'seen twice: no period can be told from one interval');
  const spacing = intervals(timeUs);
  if (n <= 4) return judgeFew(spacing);
  const same = sameStampShare(spacing);
  if (same >= BATCHED_SHARE) return judgeBatched(timeUs, spacing, same) ?? judgeIrregular(changed, spacing);
  const grid = bestGrid(timeUs, spacing);
  if (!grid) return judgeIrregular(changed, spacing);
  const extra = extraShare(grid);
  if (grid.onGrid >= PERIODIC_SHARE && extra <= EXTRA_SHARE_MAX) {
    return periodic(grid, spacing, `${percent(grid.onGrid)} of the frames lie on a grid of ${show(grid.periodUs)}`);
  }
  return (
    judgeBursts(timeUs, spacing) ??
    judgeMixed(grid, spacing, changed) ??
    judgeSteady(grid, timeUs, spacing) ??
    judgeIrregular(changed, spacing)
  );
}
