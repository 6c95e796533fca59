/**
 * Whether an identifier is sent on a grid, on a change, or both, and how surely. A grid is tried for each likely period; what
 * speaks is the share of frames on it, the frames beside it and whether those bring a new payload. Thresholds come from
 * frames at random times, of which a fitted grid holds about 0.6 within a quarter period, and from grids with losses and jitter.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import { judgeBatched } from './batched.ts';
import { gapLimit, onBeat, onGrid, percent, showMs, toMs, withoutPeriod, type TimingFinding } from './finding.ts';
import { bestGrid, countTicks, SHAKY, steadied, unpulled } from './best-grid.ts';
import type { Grid } from './grid.ts';
import { judgeSpells } from './spells.ts';
import { dispersion, findBursts, intervals, sameStampShare } from './intervals.ts';
import { judgeMixed, judgeTimeout } from './mixed.ts';
import { findPaces, type Paces, type Stretch } from './paces.ts';
import { judgeRepeats } from './repeats.ts';
import { quantile, robustSd, sortedSample } from '../robust.ts';

/** So many of the frames on the grid, and hardly any beside it, make a stream periodic. */
const PERIODIC_SHARE = 0.85;
const BESIDE_SHARE_MAX = 0.05;
/** A grid with three ticks in four empty holds anything. */
const TICKS_A_FRAME_MAX = 4;
/** A loose grid: more frames on it than chance puts there, and a pace that chance does not keep. */
const LOOSE_SHARE = 0.72;
const LOOSE_DISPERSION = 0.5;
/** Lost frames spoil the pace; over so many frames the share alone is beyond chance. */
const LOOSE_SHARE_UNPACED = 0.75;
const LOOSE_FRAMES = 500;
/** Of fewer frames chance puts as many near a grid that was fitted to them, unless they keep it tightly. */
const LOOSE_FRAMES_LEAST = 30;
const FEW_SHAKY = 0.1;
const BATCHED_SHARE = 0.2;
/** So many of the frames within steady stretches, of so many frames each on average, make paces of them. */
const STEADY_SHARE = 0.9;
const STEADY_STRETCH = 12;
/** A pace held for less of the time is hurry: a module that has just woken, a fault that is being told. */
const HELD_SHARE = 0.15;
function* judgeBursts(timeUs: Float64Array, spacing: Float64Array): Steps<TimingFinding | null> {
  const bursts = findBursts(timeUs, spacing);
  if (!bursts || bursts.startUs.length < 4) return null;
  const startSpacing = intervals(bursts.startUs);
  const grid = yield* bestGrid(bursts.startUs, startSpacing);
  if (!grid || grid.onGrid < PERIODIC_SHARE || countTicks(grid).beside > BESIDE_SHARE_MAX) return null;
  const why = `${bursts.count} frames ${showMs(bursts.periodUs)} apart, again every ${showMs(grid.periodUs)}`;
  const finding = onGrid(grid, startSpacing, why);
  const burst = { count: bursts.count, periodMs: toMs(bursts.periodUs) };
  return { ...finding, timing: { ...finding.timing, burst }, ticks: null };
}

function judgeStrict(grid: Grid, spacing: Float64Array): TimingFinding | null {
  const { beside, aFrame } = countTicks(grid);
  if (grid.onGrid < PERIODIC_SHARE || beside > BESIDE_SHARE_MAX || aFrame > TICKS_A_FRAME_MAX) return null;
  if (spacing.length < LOOSE_FRAMES_LEAST && grid.jitterUs > FEW_SHAKY * grid.periodUs) return null;
  return onGrid(grid, spacing, `${percent(grid.onGrid)} of the frames lie on a grid of ${showMs(grid.periodUs)}`);
}

function judgeLoose(grid: Grid, timeUs: Float64Array, spacing: Float64Array): TimingFinding | null {
  if (timeUs.length < LOOSE_FRAMES_LEAST || grid.onGrid < LOOSE_SHARE || countTicks(grid).aFrame > TICKS_A_FRAME_MAX)
    return null;
  const paced = dispersion(timeUs, grid.periodUs) < LOOSE_DISPERSION;
  if (!paced && (timeUs.length < LOOSE_FRAMES || grid.onGrid < LOOSE_SHARE_UNPACED)) return null;
  const loose = grid.jitterUs > SHAKY * grid.periodUs ? 'a loose grid' : 'a grid';
  const why = `${loose} of ${showMs(grid.periodUs)}: ${percent(grid.onGrid)} of the frames within a quarter of it`;
  return onGrid(grid, spacing, why);
}

function judgeIrregular(changed: Uint8Array, spacing: Float64Array): TimingFinding {
  let changes = 0;
  for (let row = 1; row < changed.length; row++) changes += changed[row] as number;
  const share = changes / Math.max(1, changed.length - 1);
  const start = `no grid fits (median interval ${showMs(quantile(sortedSample(spacing), 0.5))}); `;
  if (share >= 0.5) return withoutPeriod('on-change', `${start}${percent(share)} of the frames bring a new payload`);
  const rest = `only ${percent(share)} of the frames bring a new payload, so what triggers the others does not show`;
  return withoutPeriod('on-change', start + rest);
}

/** Two intervals are the least that can agree; a period from three or four frames is said to be thin. */
function judgeFew(spacing: Float64Array): TimingFinding {
  const sorted = Float64Array.from(spacing).sort();
  const least = sorted[0] as number;
  const most = sorted[sorted.length - 1] as number;
  const frames = spacing.length + 1;
  if (!(least > 0 && most / least <= 1.05)) {
    return withoutPeriod('on-change', `only ${frames} frames at unequal intervals: too few to tell a period`);
  }
  const periodUs = quantile(sorted, 0.5);
  return {
    timing: { kind: 'periodic', periodMs: toMs(periodUs), jitterMs: toMs(robustSd(spacing)) },
    why: `only ${frames} frames, all intervals within 5 % of ${showMs(periodUs)}`,
    gapLimitUs: gapLimit(periodUs, spacing),
    ticks: null,
  };
}

/** Rows of the frames at one pace. */
function rowsAt(stretches: readonly Stretch[], pace: number): Int32Array {
  const own = stretches.filter((stretch) => stretch.pace === pace);
  const rows = new Int32Array(own.reduce((sum, { fromRow, toRow }) => sum + toRow - fromRow, 0));
  let filled = 0;
  for (const { fromRow, toRow } of own) for (let row = fromRow; row < toRow; row++) rows[filled++] = row;
  return rows;
}

/** Several steady paces, few changes between them, and hardly a frame beside: a sender that runs at other rates in other modes. */
function hasSteadyPaces({ periodsUs, stretches }: Paces, frames: number): boolean {
  const used = periodsUs
    .map((_, pace) => stretches.filter((stretch) => stretch.pace === pace))
    .filter((own) => own.length);
  const framesOf = (own: readonly Stretch[]): number =>
    own.reduce((sum, { fromRow, toRow }) => sum + toRow - fromRow, 0);
  const areLong = used.every((own) => framesOf(own) >= STEADY_STRETCH * own.length);
  return used.length > 1 && areLong && framesOf(stretches) >= STEADY_SHARE * frames;
}

/**
 * The kind at the pace that most frames keep, hurry of a moment left aside; the others are named. null where there is but one pace: a
 * blend of two would be nobody's.
 */
function* judgePaces(
  timeUs: Float64Array,
  changed: Uint8Array,
  news: Uint8Array,
  paces: Paces,
): Steps<TimingFinding | null> {
  if (!hasSteadyPaces(paces, timeUs.length)) return null;
  const parts = paces.periodsUs.map((periodUs, pace) => ({ periodUs, rows: rowsAt(paces.stretches, pace) }));
  parts.sort((a, b) => b.rows.length - a.rows.length);
  const heldUs = ({ periodUs, rows }: (typeof parts)[number]): number => periodUs * rows.length;
  const allUs = parts.reduce((sum, part) => sum + heldUs(part), 0);
  const main = parts.find((part) => heldUs(part) >= HELD_SHARE * allUs) as (typeof parts)[number];
  const pick = (flags: Uint8Array): Uint8Array => Uint8Array.from(main.rows, (row) => flags[row] as number);
  const ownUs = Float64Array.from(main.rows, (row) => timeUs[row] as number);
  const found = yield* judgeOnePace(ownUs, pick(changed), pick(news));
  const others = parts.filter((part) => part !== main && part.rows.length > 0);
  const words = others.map(({ periodUs, rows }) => `${rows.length} frames about ${showMs(periodUs)} apart`).join(', ');
  const ticks = found.ticks ? new Int32Array(timeUs.length).fill(1) : null;
  if (ticks) main.rows.forEach((row, at) => (ticks[row] = (found.ticks as Int32Array)[at] as number));
  const gapLimitUs = Math.max(found.gapLimitUs, ...others.map(({ periodUs }) => 5 * periodUs));
  return { ...found, why: `${found.why}; at other times ${words}`, gapLimitUs, ticks };
}

/** Frames without news on a grid, those with news anywhere: a beat that goes on, and changes at once. */
const BEAT_HELD = 0.9;
const BEAT_FRAMES = 5;
const BEAT_SHAKY = 0.05;
/** News that falls on the beat: by chance a fifth of it does. */
const NEWS_ON_BEAT = 0.1;
const NEWS_ON_BEAT_MOST = 0.5;

function* judgeBeatBetweenNews(timeUs: Float64Array, news: Uint8Array): Steps<TimingFinding | null> {
  const old = timeUs.filter((_, row) => !news[row]);
  const fresh = timeUs.length - old.length;
  if (old.length < BEAT_FRAMES || fresh < BEAT_FRAMES || fresh < 0.1 * timeUs.length) return null;
  const grid = yield* bestGrid(old, intervals(old));
  if (!grid || grid.onGrid < BEAT_HELD || grid.jitterUs > BEAT_SHAKY * grid.periodUs) return null;
  if (countTicks(grid).aFrame > TICKS_A_FRAME_MAX) return null;
  let timely = 0;
  for (let row = 1, last = -1; row < timeUs.length; row++) {
    if (!news[row - 1]) last = row - 1;
    if (!news[row] || last < 0) continue;
    const periods = ((timeUs[row] as number) - (timeUs[last] as number)) / grid.periodUs;
    if (Math.abs(periods - Math.round(periods)) <= NEWS_ON_BEAT) timely++;
  }
  if (timely > NEWS_ON_BEAT_MOST * fresh) return null;
  const why =
    `the ${old.length} frames without news keep a beat of ${showMs(grid.periodUs)}; ` +
    `${fresh} with a new payload come at any time between`;
  return onBeat(grid, intervals(timeUs), why);
}

function* judgeOnePace(
  timeUs: Float64Array,
  changed: Uint8Array,
  news: Uint8Array,
  spacing = intervals(timeUs),
): Steps<TimingFinding> {
  const fitted = yield* bestGrid(timeUs, spacing);
  if (!fitted) return judgeIrregular(changed, spacing);
  const grid = unpulled(steadied(fitted, timeUs), timeUs);
  yield;
  const mixed = judgeMixed(fitted, spacing, news);
  if (mixed) return mixed;
  yield;
  const onGridAll = judgeStrict(grid, spacing) ?? judgeLoose(grid, timeUs, spacing);
  if (onGridAll) return onGridAll;
  return (yield* judgeBeatBetweenNews(timeUs, news)) ?? judgeIrregular(changed, spacing);
}

/**
 * @param timeUs [n] ascending
 * @param changed [n] 1 where the payload differs from the frame before
 * @param news [n] 1 where it differs by more than what changes all the time
 * @param pausesUs instants at which the whole bus fell silent: silence then says nothing of this identifier
 * Cost: O(n), in steps of a few passes.
 */
export function* judgeTiming(
  timeUs: Float64Array,
  changed: Uint8Array,
  news = changed,
  pausesUs: readonly number[] = [],
): Steps<TimingFinding> {
  const n = timeUs.length;
  if (n <= 2) return withoutPeriod('once', n < 2 ? 'seen once' : 'seen twice: no period can be told from one interval');
  const spacing = intervals(timeUs);
  if (n <= 4) return judgeFew(spacing);
  const same = sameStampShare(timeUs);
  if (same >= BATCHED_SHARE) return judgeBatched(timeUs, spacing, same) ?? judgeIrregular(changed, spacing);
  yield;
  const bursts = yield* judgeBursts(timeUs, spacing);
  if (bursts) return bursts;
  const paces = yield* findPaces(timeUs, spacing);
  const repeats = yield* judgeRepeats(timeUs, news, paces.periodsUs);
  if (repeats) return repeats;
  const timeout = judgeTimeout(spacing);
  if (timeout) return timeout;
  const spells = judgeSpells(timeUs, changed, paces, pausesUs);
  if (spells) return spells;
  return (yield* judgePaces(timeUs, changed, news, paces)) ?? (yield* judgeOnePace(timeUs, changed, news, spacing));
}
