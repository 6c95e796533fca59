/**
 * Identifiers with a beat that is kept when nothing happens, and frames between its ticks that bring something new. Two habits
 * are known: the beat goes on as before, or it starts anew from the frame between; each leaves its own trace.
 */
import { onBeat, percent, showMs, type TimingFinding } from './finding.ts';
import type { Grid } from './grid.ts';
import { quantile, robustSd, sortedSample } from '../robust.ts';

/** So many intervals of the period itself show that there is a beat at all. */
const BEAT_SHARE = 0.25;
/** Intervals beyond the period that are no multiple of it: a beat that waits is none. */
const LATE_SHARE_MAX = 0.03;
/** Frames between ticks that bring a new payload. */
const NEWS_SHARE = 0.8;
/** Fewer frames between ticks are no habit, unless they alone bring news. */
const BETWEEN_SHARE = 0.05;
const BETWEEN_LEAST = 5;

interface Tally {
  frames: number;
  changed: number;
}

const shareOf = ({ frames, changed }: Tally): number => (frames > 0 ? changed / frames : 0);
const add = (tally: Tally, changed: number): void => {
  tally.frames++;
  tally.changed += changed;
};

interface Beat {
  readonly atPeriod: number;
  readonly late: number;
  /** Frames between ticks, by the shorter interval before them or by lying beside the grid, whichever brings more news. */
  readonly between: Tally;
  readonly other: Tally;
}

/**
 * [n] 1 for frames that are not the tick's own: of two on one tick, the one further from it.
 */
function framesBetween({ ticks, residualUs }: Grid): Uint8Array {
  const between = new Uint8Array(ticks.length);
  for (let row = 1; row < ticks.length; row++) {
    if (ticks[row] !== 0) continue;
    const before =
      ticks[row - 1] !== 0 && Math.abs(residualUs[row - 1] as number) > Math.abs(residualUs[row] as number);
    between[before ? row - 1 : row] = 1;
  }
  return between;
}

function feelBeat(spacing: Float64Array, grid: Grid, changed: Uint8Array): Beat {
  const early: Tally = { frames: 0, changed: 0 };
  const inTime: Tally = { frames: 0, changed: 0 };
  const beside: Tally = { frames: 0, changed: 0 };
  const ticking: Tally = { frames: 0, changed: 0 };
  const isBetween = framesBetween(grid);
  let atPeriod = 0;
  let late = 0;
  for (let i = 0; i < spacing.length; i++) {
    const ratio = (spacing[i] as number) / grid.periodUs;
    const isChanged = changed[i + 1] as number;
    add(ratio < 0.75 ? early : inTime, isChanged);
    add(isBetween[i + 1] ? beside : ticking, isChanged);
    if (Math.abs(ratio - 1) <= 0.1) atPeriod++;
    else if (ratio > 1.25 && Math.abs(ratio - Math.round(ratio)) > 0.1) late++;
  }
  const byInterval = shareOf(early) >= shareOf(beside);
  const [between, other] = byInterval ? [early, inTime] : [beside, ticking];
  return { atPeriod: atPeriod / spacing.length, late: late / spacing.length, between, other };
}

function isHabit({ between, other }: Beat, frames: number): boolean {
  if (between.frames < BETWEEN_LEAST || shareOf(between) < NEWS_SHARE) return false;
  return between.frames >= BETWEEN_SHARE * frames || shareOf(other) <= shareOf(between) / 2;
}

/** Of a few frames between ticks this many are enough where nearly all bring news and chance would not have put it there. */
const EXTRA_LEAST = 3;
const EXTRA_CHANCE_MAX = 0.001;
/** Off the beat by so many standard deviations, and by this share of the period. */
const EXTRA_DEVIATIONS = 6;
const EXTRA_SHARE = 0.01;

/**
 * Frames that cut a period in two, the beat going on (both parts together make a period) or starting anew (a period follows): a
 * sender on a plain grid has none, however few they are here.
 */
function extraFrames(
  spacing: Float64Array,
  { periodUs, jitterUs }: Grid,
  changed: Uint8Array,
): Tally & { readonly goOn: number } {
  const extra = { frames: 0, changed: 0, goOn: 0 };
  const near = Math.max(EXTRA_DEVIATIONS * jitterUs, EXTRA_SHARE * periodUs);
  for (let i = 1; i + 1 < spacing.length; i++) {
    const [last, before, after] = [spacing[i - 1] as number, spacing[i] as number, spacing[i + 1] as number];
    if (before > periodUs - near || before < near) continue;
    const goesOn = Math.abs(before + after - periodUs) <= near;
    // The beat is moved for good, and not by a frame that came late and the next that came in time.
    const moved = 3 * periodUs - last - before - after > 3 * near;
    const startsAnew = moved && Math.abs(after - periodUs) <= near && Math.abs(last - periodUs) <= near;
    if (goesOn || startsAnew) add(extra, changed[i + 1] as number);
    if (goesOn) extra.goOn++;
  }
  return extra;
}

/** Chance that so many of the extra frames bring news, were news no reason to send. */
function chanceOf({ frames, changed }: Tally, newsShare: number): number {
  let ln = frames * Math.log(newsShare);
  let sum = 0;
  for (let k = frames; k >= changed; k--) {
    sum += Math.exp(ln);
    ln += Math.log(k / (frames - k + 1)) + Math.log((1 - newsShare) / newsShare);
  }
  return sum;
}

/** A few frames that came because of news, on a beat that is kept else. null where chance explains them. */
function judgeFewEvents(grid: Grid, spacing: Float64Array, changed: Uint8Array): TimingFinding | null {
  if (grid.onGrid < 0.5) return null;
  const extra = extraFrames(spacing, grid, changed);
  if (extra.frames < EXTRA_LEAST || shareOf(extra) < NEWS_SHARE) return null;
  let news = 0;
  for (let row = 1; row < changed.length; row++) news += changed[row] as number;
  const newsShare = Math.max(1, news - extra.changed) / Math.max(1, changed.length - 1 - extra.frames);
  if (newsShare >= 1 || chanceOf(extra, newsShare) > EXTRA_CHANCE_MAX) return null;
  const exact = 2 * extra.goOn > extra.frames ? grid : { ...grid, ...crowdedPeriod(spacing, grid.periodUs) };
  const why =
    `a beat of ${showMs(exact.periodUs)}; ${extra.frames} frames come between, ${extra.changed} of them with a new payload, ` +
    `as only ${percent(newsShare)} of the others have`;
  return onBeat(exact, spacing, why);
}

/** The period where intervals crowd about it; the grid's own is pulled by timers that were restarted. */
function crowdedPeriod(spacing: Float64Array, periodUs: number): { periodUs: number; jitterUs: number } {
  const near = spacing.filter((us) => Math.abs(us / periodUs - 1) <= 0.1).sort();
  return { periodUs: quantile(near, 0.5), jitterUs: robustSd(near) / Math.SQRT2 };
}

function judgeHabit(grid: Grid, spacing: Float64Array, changed: Uint8Array): TimingFinding | null {
  const beat = feelBeat(spacing, grid, changed);
  if (beat.atPeriod < BEAT_SHARE || beat.late > LATE_SHARE_MAX || !isHabit(beat, changed.length)) return null;
  const exact = { ...grid, ...crowdedPeriod(spacing, grid.periodUs) };
  const why =
    `${percent(beat.atPeriod)} of the intervals are ${showMs(exact.periodUs)}; ${beat.between.frames} frames come between, ` +
    `and of those ${percent(shareOf(beat.between))} bring a new payload (of the others ${percent(shareOf(beat.other))})`;
  return onBeat(exact, spacing, why);
}

/** Intervals at the longest there are: a beat that starts anew from every frame lets no interval be longer. */
const TIMEOUT_SHARE = 0.06;
const TIMEOUT_LEAST = 5;
const TIMEOUT_WITHIN = 0.02;
/** Times as many intervals as in a band of the same order just below: what merely ends somewhere has none that stands out. */
const TIMEOUT_STANDS_OUT = 4;
const BEYOND_SHARE_MAX = 0.03;
/** Frames before their time come at any time: at most this share of them within 15 % of their middle. */
const EARLY_ALIKE_MAX = 0.5;
const EARLY_LEAST = 0.1;

const countBetween = (sorted: Float64Array, from: number, to: number): number =>
  sorted.filter((us) => us >= from && us < to).length;

/** The interval that none exceeds and that many have, or null. */
function timeoutOf(spacing: Float64Array): number | null {
  const sorted = sortedSample(spacing);
  const last = quantile(sorted, 1 - BEYOND_SHARE_MAX / 2);
  const top = sorted.filter((us) => us >= (1 - 2 * TIMEOUT_WITHIN) * last);
  const periodUs = quantile(top, 0.5);
  const near = sorted.filter((us) => Math.abs(us / periodUs - 1) <= TIMEOUT_WITHIN).length;
  const beyond = sorted.filter((us) => us > (1 + TIMEOUT_WITHIN) * periodUs).length;
  const below = countBetween(sorted, (1 - 4 * TIMEOUT_WITHIN) * periodUs, (1 - 2 * TIMEOUT_WITHIN) * periodUs);
  const enough = near >= Math.max(TIMEOUT_LEAST, TIMEOUT_SHARE * sorted.length, TIMEOUT_STANDS_OUT * below);
  return enough && beyond <= BEYOND_SHARE_MAX * sorted.length ? periodUs : null;
}

/** Frames at any time, and one more when nothing came for a period: the beat starts anew from each. Needs no news. null where that does not show. */
export function judgeTimeout(spacing: Float64Array): TimingFinding | null {
  const timeoutUs = timeoutOf(spacing);
  if (timeoutUs === null) return null;
  const early = spacing.filter((us) => us < (1 - 2 * TIMEOUT_WITHIN) * timeoutUs).sort();
  const middle = quantile(early, 0.5);
  const alike = early.filter((us) => Math.abs(us / middle - 1) <= 0.15).length;
  if (early.length < EARLY_LEAST * spacing.length || early.length < BETWEEN_LEAST) return null;
  if (alike > EARLY_ALIKE_MAX * early.length) return null;
  const near = spacing.filter((us) => Math.abs(us / timeoutUs - 1) <= TIMEOUT_WITHIN).sort();
  const periodUs = quantile(near, 0.5);
  const why =
    `${near.length} intervals of ${showMs(periodUs)} and hardly one longer; ${early.length} frames come earlier, at any time: ` +
    `a beat that starts anew from each frame`;
  return onBeat({ periodUs, jitterUs: robustSd(near) / Math.SQRT2 }, spacing, why);
}

/** null where there is no beat, or no habit of frames between. @param changed [n] 1 where something is new. O(n). */
export function judgeMixed(grid: Grid, spacing: Float64Array, changed: Uint8Array): TimingFinding | null {
  return judgeHabit(grid, spacing, changed) ?? judgeFewEvents(grid, spacing, changed);
}
