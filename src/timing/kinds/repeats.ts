/**
 * Identifiers that say a change several times in quick succession (say five frames 20 ms apart) and then fall back to a slow beat, or to
 * silence. A fitted grid would take the quick frames for the period, or for accidents. What speaks for the habit: chains of quick
 * frames that have one length, or grow only by further changes; that begin with something new; and after which it
 * is quiet. With the chains set aside, what is left must keep a beat, one that goes on through the chains or starts anew after each.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import { quantile, robustSd } from '../robust.ts';
import { gapLimit, percent, showMs, toMs, withoutPeriod, type TimingFinding } from './finding.ts';
import { fitGrid } from './grid.ts';
import { intervals } from './intervals.ts';
import { densest } from './paces.ts';

/** A quick frame comes within this share of the quick interval about where the chain expects it: tasks are held up, the wire is taken. */
const QUICK_WITHIN = 0.3;
/** How far the expectation follows a frame that is off. */
const FOLLOWS = 0.3;
/** After a chain it is quiet for longer than so many quick intervals. */
const QUIET_AFTER = 1.5;
/** A slow beat within this share of its period. */
const BEAT_WITHIN = 0.05;
const CHAINS_LEAST = 3;
/** Without news that tell changes from repetitions, so many chains must agree, of so many frames. */
const BLIND_CHAINS_LEAST = 5;
const BLIND_FRAMES_LEAST = 3;
const BLIND_SHARE = 0.5;
/** A longer chain is a mode of the vehicle, not the echo of a change. */
const FRAMES_MOST = 30;
/** Chains like the others, and chains with quiet after them: losses and changes in quick succession spoil some. */
const ALIKE_SHARE = 0.75;
/** Starts of chains that bring news; and news elsewhere, as a share of that. */
const NEWS_SHARE = 0.75;
const NEWS_ELSEWHERE = 0.4;
const BEAT_SHARE = 0.8;
const BEAT_LEAST = 3;

/** Rows of one chain, ascending; frames of the beat that fall between them are not in it. */
type Chain = readonly number[];

interface Habit {
  readonly quickUs: number;
  readonly count: number;
  readonly chains: readonly Chain[];
  /** Share of chains that begin with news; null where news says nothing. */
  readonly newsAtStart: number | null;
  readonly alike: number;
}

/** The first row after `row` that comes about when due, or -1. */
function rowWhenDue(timeUs: Float64Array, row: number, dueUs: number, withinUs: number): number {
  for (let next = row + 1; next < timeUs.length; next++) {
    const us = timeUs[next] as number;
    if (us > dueUs + withinUs) return -1;
    if (us >= dueUs - withinUs) return next;
  }
  return -1;
}

function chainFrom(timeUs: Float64Array, row: number, quickUs: number): Chain {
  const chain = [row];
  let dueUs = (timeUs[row] as number) + quickUs;
  for (;;) {
    const next = rowWhenDue(timeUs, chain[chain.length - 1] as number, dueUs, QUICK_WITHIN * quickUs);
    if (next < 0) return chain;
    chain.push(next);
    dueUs += quickUs + FOLLOWS * ((timeUs[next] as number) - dueUs);
  }
}

/** Chains of two frames and more, in time order. O(n). */
function chainsOf(timeUs: Float64Array, quickUs: number): Chain[] {
  const chains: Chain[] = [];
  for (let row = 0; row < timeUs.length;) {
    const chain = chainFrom(timeUs, row, quickUs);
    if (chain.length > 1) chains.push(chain);
    row = (chain[chain.length - 1] as number) + 1;
  }
  return chains;
}

/** Frames from one change within a chain to the next or to its end: a change during the repetitions starts them anew. */
function repetitions(chain: Chain, news: Uint8Array): number[] {
  const counts: number[] = [];
  let since = 0;
  chain.forEach((row, at) => {
    if (at > 0 && news[row]) {
      counts.push(since);
      since = 0;
    }
    since++;
  });
  return [...counts, since];
}

/** Share of chains after which the next frame takes its time. */
function quietShare(timeUs: Float64Array, chains: readonly Chain[], quickUs: number): number {
  const ended = chains.map((chain) => chain.at(-1) as number).filter((row) => row + 1 < timeUs.length);
  const quiet = ended.filter((row) => (timeUs[row + 1] as number) - (timeUs[row] as number) > QUIET_AFTER * quickUs);
  return quiet.length / Math.max(1, ended.length);
}

/** Share of starts of chains with news, where it is much above that of all other frames; else null. */
function newsAtStart(chains: readonly Chain[], news: Uint8Array): number | null {
  let starts = 0;
  for (const chain of chains) starts += news[chain[0] as number] as number;
  let all = 0;
  for (let row = 1; row < news.length; row++) all += news[row] as number;
  const startShare = starts / chains.length;
  const otherShare = (all - starts) / Math.max(1, news.length - 1 - chains.length);
  return startShare >= NEWS_SHARE && otherShare <= NEWS_ELSEWHERE * startShare ? startShare : null;
}

/** Without news: many chains of one length exactly. Losses on a plain grid leave chains of all lengths, the shorter the more. */
function agreeBlindly(chains: readonly Chain[], count: number): boolean {
  const same = chains.filter((chain) => chain.length === count).length;
  return chains.length >= BLIND_CHAINS_LEAST && count >= BLIND_FRAMES_LEAST && same >= BLIND_SHARE * chains.length;
}

/** null where chains of this interval are no habit. O(n). */
function habitOf(timeUs: Float64Array, news: Uint8Array, quickUs: number): Habit | null {
  const chains = chainsOf(timeUs, quickUs);
  if (chains.length < CHAINS_LEAST || quietShare(timeUs, chains, quickUs) < ALIKE_SHARE) return null;
  const told = newsAtStart(chains, news);
  const lastRuns = chains.map((chain) => (told === null ? chain.length : (repetitions(chain, news).at(-1) as number)));
  const count = Math.round(quantile(Float64Array.from(lastRuns).sort(), 0.5));
  const isAlike = (chain: Chain, at: number): boolean =>
    Math.abs((lastRuns[at] as number) - count) <= (count > 2 ? 1 : 0) &&
    (told === null || Math.max(...repetitions(chain, news)) <= count + 1);
  const alike = chains.filter(isAlike).length / chains.length;
  if (count > FRAMES_MOST || count < 2 || alike < ALIKE_SHARE) return null;
  if (told === null && !agreeBlindly(chains, count)) return null;
  return { quickUs, count, chains, newsAtStart: told, alike };
}

interface Beat {
  readonly periodUs: number;
  readonly jitterUs: number;
}

/** A beat that starts anew: every frame outside the chains comes a period after the frame before, a chain's last one too. */
function beatAnew(timeUs: Float64Array, isChained: Uint8Array, guessUs: number): Beat | null {
  const waits: number[] = [];
  for (let row = 1; row < timeUs.length; row++) {
    if (!isChained[row]) waits.push((timeUs[row] as number) - (timeUs[row - 1] as number));
  }
  const near = Float64Array.from(waits.filter((us) => Math.abs(us / guessUs - 1) <= BEAT_WITHIN)).sort();
  if (near.length < Math.max(BEAT_LEAST, BEAT_SHARE * waits.length)) return null;
  return { periodUs: quantile(near, 0.5), jitterUs: robustSd(near) / Math.SQRT2 };
}

/** A beat that goes on: frames outside the chains lie on a grid, its ticks that fell into a chain missing. Of several that hold them, the slowest. */
function* beatOn(timeUs: Float64Array, isChained: Uint8Array, guessUs: number): Steps<Beat | null> {
  const beside = timeUs.filter((_, row) => !isChained[row]);
  if (beside.length < 2 * BEAT_LEAST) return null;
  for (const times of [3, 2, 1]) {
    const grid = yield* fitGrid(beside, times * guessUs);
    const ticks = grid.ticks.reduce((sum, each) => sum + Math.min(8, each), 0);
    const holds = grid.onGrid >= BEAT_SHARE && ticks <= 3 * beside.length && ticks >= BEAT_SHARE * (beside.length - 1);
    if (holds && grid.jitterUs <= BEAT_WITHIN * grid.periodUs) return grid;
  }
  return null;
}

/** [n] 1 for the frames of chains. */
function chainedRows(frames: number, chains: readonly Chain[]): Uint8Array {
  const isChained = new Uint8Array(frames);
  for (const chain of chains) for (const row of chain) isChained[row] = 1;
  return isChained;
}

function* beatBetween(timeUs: Float64Array, { chains, quickUs }: Habit): Steps<Beat | null> {
  const isChained = chainedRows(timeUs.length, chains);
  const waits = intervals(timeUs).filter((us, i) => !isChained[i + 1] && us > QUIET_AFTER * quickUs);
  const guessUs = densest(waits.sort(), BEAT_LEAST);
  if (guessUs === null) return null;
  return beatAnew(timeUs, isChained, guessUs) ?? (yield* beatOn(timeUs, isChained, guessUs));
}

const burstWords = ({ count, chains, newsAtStart: told, alike, quickUs }: Habit): string =>
  `${chains.length} times ${count} frames ${showMs(quickUs)} apart (${percent(alike)} of the times), ` +
  (told === null
    ? 'what triggers them does not show, as every frame differs from the one before'
    : `begun by a new payload in ${percent(told)}`);

const chainedFrames = ({ chains }: Habit): number => chains.reduce((sum, chain) => sum + chain.length, 0);

/**
 * @param news [n] 1 where something is new
 * @param guessesUs intervals that occur often
 * @returns null where no such habit shows. O(n) a guess.
 */
export function* judgeRepeats(
  timeUs: Float64Array,
  news: Uint8Array,
  guessesUs: readonly number[],
): Steps<TimingFinding | null> {
  const habits: Habit[] = [];
  for (const guessUs of guessesUs) {
    const habit = habitOf(timeUs, news, guessUs);
    if (habit) habits.push(habit);
    yield;
  }
  const habit = habits.sort((a, b) => chainedFrames(b) - chainedFrames(a))[0];
  if (!habit) return null;
  const burst = { count: habit.count, periodMs: toMs(habit.quickUs) };
  const words = burstWords(habit);
  const beat = yield* beatBetween(timeUs, habit);
  if (!beat) {
    const finding = withoutPeriod('on-change', `no beat between changes; ${words}`);
    return { ...finding, timing: { ...finding.timing, burst } };
  }
  return {
    timing: { kind: 'mixed', periodMs: toMs(beat.periodUs), jitterMs: toMs(beat.jitterUs), burst },
    why: `a beat of ${showMs(beat.periodUs)}; ${words}`,
    gapLimitUs: gapLimit(beat.periodUs, intervals(timeUs)),
    ticks: null,
  };
}
