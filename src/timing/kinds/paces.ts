/**
 * Stretches in which an identifier keeps one pace: a sender that runs at 100 ms while it waits and at 10 ms while it works has two, and no
 * average of them means anything. Candidate periods are where intervals crowd. Which of them holds when is the path of least
 * description length: each interval costs the logarithm of its density under the pace that holds, each change of pace the
 * logarithm of the places and paces it could have had (Rissanen 1978), and the best path is found by dynamic programming
 * (Viterbi 1967). Between paces lies the state that expects nothing: intervals of any size, spread evenly on a
 * logarithmic scale.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import { quantile, sortedSample } from '../robust.ts';

export interface Stretch {
  /** First row, and the one after the last. */
  readonly fromRow: number;
  readonly toRow: number;
  /** Which of `Paces.periodsUs`. */
  readonly pace: number;
}

export interface Paces {
  /** Periods seen, the one with the most intervals near it first; right to a few per cent. */
  readonly periodsUs: readonly number[];
  /** In time order; rows between them keep no pace. */
  readonly stretches: readonly Stretch[];
}

const PACES_MAX = 4;
/** Intervals within this ratio of each other crowd together. */
const CROWD = 1.2;
/** Two paces differ by more: a jittery one would else look like several. */
const APART = 1.35;
const CROWD_LEAST = 6;
const CROWD_SHARE = 0.005;
/** Of the intervals near a period, these tell how tightly they keep it; of a normal spread they lie within 0.52 deviations. */
const TIGHT_SHARE = 0.4;
const TIGHT_DEVIATIONS = 0.52;
/** Below this share of the period stamps and queues on the wire spread any sender. */
const SPREAD_LEAST = 0.003;
/** Frames between ticks and other accidents, as a share of the intervals within a pace. */
const ACCIDENTS = 0.03;
const LOSS_LEAST = 0.02;
const LOSS_MOST = 0.5;
/** So many intervals at one pace are a stretch. */
const INTERVALS_LEAST = 4;
/** With so many near one period no other pace needs to be looked for. */
const ONE_PACE_SHARE = 0.995;
const ROWS_A_STEP = 20_000;

interface Pace {
  readonly periodUs: number;
  /** Spread as a share of the period. */
  readonly spread: number;
  readonly loss: number;
  /** Intervals of the sample near the period, as a share. */
  readonly share: number;
}

/** Number of ascending values within [from, to]. */
function countWithin(sorted: Float64Array, from: number, to: number): number {
  let count = 0;
  for (const value of sorted) if (value >= from && value <= to) count++;
  return count;
}

/** Where most values lie within a ratio of CROWD: their median; null where they are too few. */
export function densest(sorted: Float64Array, least: number): number | null {
  let best = { from: 0, to: 0 };
  for (let from = 0, to = 0; from < sorted.length; from++) {
    while (to < sorted.length && (sorted[to] as number) <= CROWD * (sorted[from] as number)) to++;
    if (to - from > best.to - best.from) best = { from, to };
  }
  return best.to - best.from >= least ? quantile(sorted.subarray(best.from, best.to), 0.5) : null;
}

/** Half the width of the shortest stretch that holds TIGHT_SHARE of the values near a period, as a standard deviation. */
function spreadOf(near: Float64Array, periodUs: number): number {
  const held = Math.max(2, Math.ceil(TIGHT_SHARE * near.length));
  let width = Infinity;
  for (let i = 0; i + held <= near.length; i++) {
    width = Math.min(width, (near[i + held - 1] as number) - (near[i] as number));
  }
  return Math.max(SPREAD_LEAST, width / 2 / TIGHT_DEVIATIONS / periodUs);
}

function lossOf(sorted: Float64Array, periodUs: number): number {
  const once = countWithin(sorted, periodUs / APART, periodUs * APART);
  const twice = countWithin(sorted, 1.8 * periodUs, 2.2 * periodUs);
  return Math.min(LOSS_MOST, Math.max(LOSS_LEAST, twice / Math.max(1, once + twice)));
}

function candidates(sorted: Float64Array): Pace[] {
  const least = Math.max(CROWD_LEAST, CROWD_SHARE * sorted.length);
  const paces: Pace[] = [];
  let left = sorted;
  while (paces.length < PACES_MAX) {
    const periodUs = densest(left, least);
    if (periodUs === null) break;
    const isNear = (us: number): boolean => us > periodUs / APART && us < periodUs * APART;
    const near = left.filter(isNear);
    const share = near.length / sorted.length;
    paces.push({ periodUs, spread: spreadOf(near, periodUs), loss: lossOf(sorted, periodUs), share });
    left = left.filter((us) => !isNear(us));
  }
  return paces;
}

/** A pace with the logarithms that each interval is weighed by. */
interface Weighed extends Pace {
  readonly heldLn: number;
  readonly lossLn: number;
  readonly widthLn: number;
}

const weighed = (pace: Pace): Weighed => ({
  ...pace,
  heldLn: Math.log(1 - pace.loss),
  lossLn: Math.log(pace.loss),
  widthLn: Math.log(2 * pace.spread * pace.periodUs),
});

/** Natural logarithm of the density of an interval under a pace, over that under the state that expects nothing. @param usLn the interval's logarithm */
function gainOf(us: number, usLn: number, pace: Weighed, anyLn: number): number {
  const { periodUs, spread, heldLn, lossLn, widthLn } = pace;
  const ticks = Math.max(1, Math.round(us / periodUs));
  const off = Math.abs(us / periodUs - ticks) / spread;
  const ln = heldLn + (ticks - 1) * lossLn - off - widthLn + usLn + anyLn;
  return ln > 20 ? ln : Math.log(ACCIDENTS + (1 - ACCIDENTS) * Math.exp(ln));
}

/** [intervals] the state of each: 0 expects nothing, k is the k-th pace. O(intervals * paces). */
function* bestPath(spacing: Float64Array, paces: readonly Pace[], anyLn: number): Steps<Uint8Array> {
  const states = paces.length + 1;
  const change = Math.log(spacing.length + 1) + Math.log(states);
  const score = new Float64Array(states);
  const stayed = new Uint8Array(spacing.length * states);
  const from = new Uint8Array(spacing.length);
  const all = paces.map(weighed);
  for (let i = 0; i < spacing.length; i++) {
    if (i % ROWS_A_STEP === ROWS_A_STEP - 1) yield;
    let best = 0;
    for (let state = 1; state < states; state++) if ((score[state] as number) > (score[best] as number)) best = state;
    const leap = (score[best] as number) - change;
    from[i] = best;
    const us = spacing[i] as number;
    const usLn = Math.log(us);
    for (let state = 0; state < states; state++) {
      const stays = (score[state] as number) >= leap;
      stayed[i * states + state] = stays ? 1 : 0;
      const gain = state === 0 || us === 0 ? 0 : gainOf(us, usLn, all[state - 1] as Weighed, anyLn);
      score[state] = (stays ? (score[state] as number) : leap) + gain;
    }
  }
  const path = new Uint8Array(spacing.length);
  let state = score.indexOf(Math.max(...score));
  for (let i = spacing.length - 1; i >= 0; i--) {
    path[i] = state;
    if (!stayed[i * states + state]) state = from[i] as number;
  }
  return path;
}

/** Ticks without a frame after which leaving a pace for one interval costs less than that many losses. */
const ticksAcross = (intervals: number, loss: number): number => 1 + (2 * Math.log(intervals + 1)) / -Math.log(loss);

/** Intervals longer than losses explain belong to no pace: the identifier was silent. In place. */
function cutSilences(path: Uint8Array, spacing: Float64Array, paces: readonly Pace[]): Uint8Array {
  const limits = paces.map(({ periodUs, loss }) => ticksAcross(spacing.length, loss) * periodUs);
  for (let i = 0; i < path.length; i++) {
    const state = path[i] as number;
    if (state > 0 && (spacing[i] as number) > (limits[state - 1] as number)) path[i] = 0;
  }
  return path;
}

/** Runs of one state; a short break between two runs of the same pace is an accident within it. */
function stretchesOf(path: Uint8Array, timeUs: Float64Array, paces: readonly Pace[]): Stretch[] {
  const stretches: Stretch[] = [];
  for (let from = 0; from < path.length;) {
    let to = from + 1;
    while (to < path.length && path[to] === path[from]) to++;
    const pace = (path[from] as number) - 1;
    if (pace >= 0 && to - from >= INTERVALS_LEAST) {
      const { periodUs, loss } = paces[pace] as Pace;
      const last = stretches[stretches.length - 1];
      const breakUs = last ? (timeUs[from] as number) - (timeUs[last.toRow - 1] as number) : Infinity;
      const goesOn = last?.pace === pace && breakUs <= ticksAcross(path.length, loss) * periodUs;
      if (goesOn) stretches[stretches.length - 1] = { ...last, toRow: to + 1 };
      else stretches.push({ fromRow: Math.max(from, last?.toRow ?? 0), toRow: to + 1, pace });
    }
    from = to;
  }
  return stretches;
}

/**
 * @param timeUs [n] ascending
 * @param spacing [n - 1] its intervals
 * Cost: O(n) for a pace or a few.
 */
export function* findPaces(timeUs: Float64Array, spacing: Float64Array): Steps<Paces> {
  const sorted = sortedSample(spacing).filter((us) => us > 0);
  const paces = candidates(sorted);
  if (paces.length === 0) return { periodsUs: [], stretches: [] };
  const anyLn = Math.log(Math.log((sorted[sorted.length - 1] as number) / (sorted[0] as number)) + 1);
  yield;
  const first = paces[0] as Pace;
  const onlyOne = first.share >= ONE_PACE_SHARE;
  const path = onlyOne ? new Uint8Array(spacing.length).fill(1) : yield* bestPath(spacing, paces, anyLn);
  const cut = cutSilences(path, spacing, paces);
  yield;
  return { periodsUs: paces.map(({ periodUs }) => periodUs), stretches: stretchesOf(cut, timeUs, paces) };
}
