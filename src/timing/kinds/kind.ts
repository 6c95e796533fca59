/**
 * Whether an identifier is sent on a grid, on a change, or both, and how surely. A grid is tried for each likely period; what
 * speaks is the share of frames on it, the frames beside it and whether those bring a new payload. Thresholds come from
 * frames at random times, of which a fitted grid holds about 0.6 within a quarter period, and from grids with losses and jitter.
 */
import { MISSING } from '../../kit/missing.ts';
import type { Steps } from '../../frames/pictures/steps.ts';
import { judgeBatched } from './batched.ts';
import { gapLimit, onBeat, onGrid, percent, showMs, toMs, withoutPeriod, type TimingFinding } from './finding.ts';
import { fitGrid, STRETCH_ROWS, type Grid } from './grid.ts';
import { dispersion, findBursts, intervals, periodGuesses, sameStampShare, sortedIntervals } from './intervals.ts';
import { judgeMixed, judgeTimeout } from './mixed.ts';
import { findPaces, type Paces, type Stretch } from './paces.ts';
import { judgeRepeats } from './repeats.ts';
import { median, quantile, robustSd, sortedSample, sortedSampleOf } from '../robust.ts';

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
/** Jitter beyond this share of the period. */
const SHAKY = 0.05;
/** Shorter stretches of common phase, on average, give no good slope. */
const STRETCH_FRAMES = 100;
const PACED_FRAMES = 128;
const BATCHED_SHARE = 0.2;
/** So many of the frames within steady stretches, of so many frames each on average, make paces of them. */
const STEADY_SHARE = 0.9;
const STEADY_STRETCH = 12;
/** A pace held for less of the time is hurry: a module that has just woken, a fault that is being told. */
const HELD_SHARE = 0.15;
/** So many spells are no module that was switched off and on, and with hardly a frame that repeats its payload no periodic sender. */
const SPELLS_LEAST = 6;
const SPELLS_NEWS = 0.97;
/** Silences take at least this share of the time: frames held back for a moment are no silence. */
const SPELLS_SILENT = 0.1;

interface Ticks {
  /** Share of frames that took no tick: extra, or beside the grid. */
  readonly beside: number;
  readonly aFrame: number;
}

function countTicks({ ticks }: Grid): Ticks {
  let beside = 0;
  let sum = 0;
  for (let row = 1; row < ticks.length; row++) {
    if (ticks[row] === 0) beside++;
    sum += Math.min(50, ticks[row] as number);
  }
  return { beside: beside / ticks.length, aFrame: sum / ticks.length };
}

/**
 * Frames on the grid, less ticks that no frame was found for (else any fine grid would hold everything), less what a phase taken
 * anew too often hides.
 */
function gridScore(grid: Grid): number {
  let ticks = 0;
  for (let row = 1; row < grid.ticks.length; row++) ticks += Math.min(8, grid.ticks[row] as number);
  const filled = Math.min(1, (grid.ticks.length - 1) / Math.max(1, ticks));
  const tightness = 1 / (1 + (4 * grid.jitterUs) / grid.periodUs);
  const whole = 1 / (1 + (20 * grid.stretches) / grid.ticks.length);
  return grid.onGrid * Math.sqrt(filled) * tightness * whole;
}

function* bestGrid(timeUs: Float64Array, spacing: Float64Array): Steps<Grid | null> {
  let best: Grid | null = null;
  const guesses = periodGuesses(timeUs, spacing);
  yield;
  for (const guess of guesses) {
    const grid = yield* fitGrid(timeUs, guess);
    yield;
    if (!best || gridScore(grid) > gridScore(best)) best = grid;
    yield;
  }
  return best;
}

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

/** Times less those of their ticks, the phase taken anew every PACED_FRAMES frames: what a broken grid hides. Frames beside it are left out. */
function pacedJitter(timeUs: Float64Array, tickOf: Float64Array, periodUs: number): number {
  const isTick = (row: number): boolean => row === 0 || tickOf[row] !== tickOf[row - 1];
  const residualUs = timeUs.map((us, row) => (isTick(row) ? us - periodUs * (tickOf[row] as number) : MISSING));
  for (let from = 0; from < timeUs.length; from += PACED_FRAMES) {
    const part = residualUs.subarray(from, from + PACED_FRAMES);
    const phase = median(part);
    for (let row = 0; row < part.length; row++) part[row] = (part[row] as number) - phase;
  }
  return robustSd(residualUs);
}

/** Time a tick over many frames at once, the median over the whole stream: how the period of a shaky or often restarted grid shows best. */
function steadied(grid: Grid, timeUs: Float64Array): Grid {
  const lag = Math.min(PACED_FRAMES, timeUs.length >> 2);
  const broken = grid.stretches > 1 && grid.stretches * STRETCH_FRAMES > timeUs.length;
  if ((grid.jitterUs < SHAKY * grid.periodUs && !broken) || lag < 2) return grid;
  const tickOf = new Float64Array(timeUs.length);
  for (let row = 1; row < timeUs.length; row++) tickOf[row] = (tickOf[row - 1] as number) + (grid.ticks[row] as number);
  const apart = (of: Float64Array, row: number): number => (of[row + lag] as number) - (of[row] as number);
  const each = sortedSampleOf(timeUs.length - lag, (row) => apart(timeUs, row) / Math.max(1, apart(tickOf, row)));
  const periodUs = quantile(each, 0.5);
  if (Math.abs(periodUs / grid.periodUs - 1) > 0.02) return grid;
  return { ...grid, periodUs, jitterUs: pacedJitter(timeUs, tickOf, periodUs) };
}

/** A timer that was started anew now and then pulls the slope; what a few frames take together, at the median, keeps the period. */
const RESTARTS_MOST = 0.1;
const TOGETHER = 4;
const PULLED = 1e-4;
const PULLED_ERRORS = 4;

function unpulled(grid: Grid, timeUs: Float64Array): Grid {
  const n = timeUs.length;
  const restarts = grid.stretches - 1 - Math.floor(n / STRETCH_ROWS);
  if (restarts < 1 || restarts > RESTARTS_MOST * n || n < 4 * TOGETHER) return grid;
  if (grid.jitterUs > SHAKY * grid.periodUs) return grid;
  const each = sortedIntervals(timeUs, TOGETHER).map((us) => us / Math.max(1, Math.round(us / grid.periodUs)));
  const periodUs = median(each);
  const errorUs = (1.25 * Math.sqrt(TOGETHER) * robustSd(each)) / Math.sqrt(n);
  const off = Math.abs(periodUs - grid.periodUs);
  const isPulled = off > Math.max(PULLED_ERRORS * errorUs, PULLED * grid.periodUs) && off < 0.02 * grid.periodUs;
  return isPulled ? { ...grid, periodUs, jitterUs: robustSd(sortedIntervals(timeUs)) / Math.SQRT2 } : grid;
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
 * Frames on a change of something that moves in spells: within a spell as often as the sender allows, else none, and nothing but news in
 * them. A period that is kept only while something moves is no period. null where that does not show.
 */
function judgeSpells(
  timeUs: Float64Array,
  changed: Uint8Array,
  { periodsUs, stretches }: Paces,
  pausesUs: readonly number[],
): TimingFinding | null {
  if (stretches.length < SPELLS_LEAST || new Set(stretches.map(({ pace }) => pace)).size > 1) return null;
  let news = 0;
  for (let row = 1; row < changed.length; row++) news += changed[row] as number;
  if (news < SPELLS_NEWS * (changed.length - 1)) return null;
  const leastUs = periodsUs[(stretches[0] as Stretch).pace] as number;
  const ends = stretches.slice(0, -1).map(({ toRow }) => toRow - 1);
  const byItself = ends.filter((row) => {
    const from = timeUs[row] as number;
    return !pausesUs.some((us) => us >= from - leastUs && us <= (timeUs[row + 1] as number));
  });
  const silentUs = byItself.reduce((sum, row) => sum + (timeUs[row + 1] as number) - (timeUs[row] as number), 0);
  const wholeUs = (timeUs[timeUs.length - 1] as number) - (timeUs[0] as number);
  if (byItself.length < SPELLS_LEAST - 1 || silentUs < SPELLS_SILENT * wholeUs) return null;
  const why =
    `${stretches.length} spells of frames, each with a new payload, about ${showMs(leastUs)} apart at the least, ` +
    `and ${byItself.length} silences between while the bus went on`;
  return withoutPeriod('on-change', why);
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
