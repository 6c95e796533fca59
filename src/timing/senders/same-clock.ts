/**
 * How strongly a pair's drift, phase and order speak for one clock against two, as a log-likelihood ratio. One clock: a drift of zero
 * within its error, with heavy tails, and mostly one task's tick; two clocks: rates apart as clocks of a vehicle are, any phase.
 */
import { wrapped } from '../wrapped.ts';
import type { Together } from './neighbours.ts';
import type { PairDrift } from './pair-drift.ts';

/** Share of pairs whose error is four times what was said. */
const TAIL_SHARE = 0.05;
const TAIL_WIDTH = 4;
/** Shares of clocks far out, and how far, ppm: poor crystals, and ceramic resonators (common practice, no source). */
const FAR_SHARE = 0.15;
const FAR_PPM = 100;
const RESONATOR_SHARE = 0.1;
const RESONATOR_PPM = 1200;
/** Frames of one task leave within so long of each other: a burst of eight at 500 kbit/s waits 2 ms. */
const ONE_TICK_US = 1000;
/** Most tasks run every 10 ms, some every 5; and how often two frames of one module are of one tick of 10 ms, or of 5 (common practice, no source). */
const TICK_US = 10_000;
const ONE_TICK_SHARE = 0.75;
const HALF_TICK_SHARE = 0.15;
/** No evidence from clocks alone speaks louder. */
const MOST = 8;
const LEAST = -12;

function normal(x: number, sd: number): number {
  return Math.exp(-0.5 * (x / sd) ** 2) / (sd * Math.sqrt(2 * Math.PI));
}

/** What lies between two streams, or two clusters of them. */
export interface ClockContrast {
  readonly ppm: number;
  readonly se: number;
  /** Change of the drift, ppm per 100 s; its error is Infinity where it does not show. */
  readonly bend: number;
  readonly bendSe: number;
  /** Log-likelihood ratio from phases, the mean over pairs. */
  readonly phase: number;
  /** Log-likelihood ratio from frames that leave together, of the pair of which it says most. */
  readonly order: number;
  /** From schedules and roughness, the mean over pairs. */
  readonly habit: number;
  /** Share of the pairs that clearly drift apart: those are known but badly, and would hardly count in the mean. */
  readonly far: number;
  /** How far the nearer of the two is from the clocks' middle, ppm, and how far it bends apart from them, ppm per 100 s. */
  readonly away: number;
  readonly bent: number;
  /** From common moments and guards, the mean over pairs. */
  readonly beside: number;
}

/** Log-likelihood ratio of one task's tick against any phase. */
export function phaseEvidence(
  { distanceUs, commonUs }: Pick<PairDrift, 'distanceUs' | 'commonUs'>,
  stepUs: number,
): number {
  const tickUs = commonUs % TICK_US === 0 ? TICK_US : commonUs;
  const withinUs = ONE_TICK_US + stepUs;
  if (tickUs < 4 * withinUs) return 0;
  const away = Math.abs(wrapped(distanceUs, tickUs));
  const byChance = (2 * withinUs) / tickUs;
  if (away <= withinUs) return Math.log(ONE_TICK_SHARE / byChance);
  if (tickUs / 2 - away <= withinUs) return Math.log(HALF_TICK_SHARE / byChance);
  return Math.log((1 - ONE_TICK_SHARE - HALF_TICK_SHARE) / (1 - 2 * byChance));
}

/** One clock's differences stray about their curve by hardly more than their errors, and most of them keep to it. */
const CHI_USUAL = 1.5;
const KEPT_USUAL = 0.75;
/** Log-likelihood ratio of what strays further: a timer that walks, or two clocks that wander. */
const ROUGH_PER_CHI = -3;
const ROUGH_PER_SHARE = -15;
const ROUGH_MOST = -6;

function roughness({ chi, kept }: Pick<PairDrift, 'chi' | 'kept'>): number {
  if (Number.isNaN(chi)) return 0;
  const sum = ROUGH_PER_CHI * Math.max(0, chi - CHI_USUAL) + ROUGH_PER_SHARE * Math.max(0, KEPT_USUAL - kept);
  return Math.max(ROUGH_MOST, sum);
}

/** What else speaks on a pair: how likely the schedules are by which it drifts so little, and whether it keeps to its curve. */
export const habitEvidence = (drift: PairDrift): number =>
  Math.max(SCHEDULED_LEAST, drift.scheduled) * SCHEDULED_SHARE + roughness(drift);
/** A rare schedule is rare for two clocks as well: only part of it speaks against one. */
const SCHEDULED_SHARE = 0.5;
const SCHEDULED_LEAST = -6;

/** How often two frames of one module leave together all the capture long (common practice, no source). */
const TOGETHER_SHARE = 0.4;
/** Frames that were neighbours and are no longer: of two clocks, unless a schedule changed. */
const PASSED = -4;
/** Two frames next to each other stay so while their clocks drift by less than this many frames' slots. */
const SLOTS_STAYED = 2;
/** Modules may share their kind of clock, and run nearly alike by chance or by make. */
const ALIKE_SHARE = 0.01;

/** How a pair was recorded, as far as order goes. */
export interface OrderScale {
  /** Mean time between two frames of a bus. */
  readonly slotUs: number;
  readonly endUs: number;
  /** Shorter period of the pair. */
  readonly periodUs: number;
  readonly spreadPpm: number;
}

/** Log-likelihood ratio of frames that keep their places in order against two clocks that happen to drift that little. */
export function orderEvidence({ kind, ranks }: Together, scale: OrderScale): number {
  if (kind === 'apart') return 0;
  if (kind === 'passing') return PASSED;
  const { slotUs, endUs, periodUs, spreadPpm } = scale;
  const stayedPpm = ((SLOTS_STAYED * slotUs) / endUs) * 1e6;
  const stays = Math.min(1, (2 * stayedPpm) / (Math.SQRT2 * spreadPpm * Math.sqrt(2 * Math.PI)));
  const near = Math.min(1, ((2 * ranks + 1) * slotUs) / periodUs);
  return Math.max(0, Math.log(TOGETHER_SHARE / (near * Math.min(1, stays + ALIKE_SHARE))));
}

/** Most clocks hold their rate over a capture; of the others, the change in ppm per 100 s: as crystals warm, and more (common practice, no source). */
const BENT_SHARE = 0.35;
const BENT_PPM = 1;
/** Share of those that bend just as another one does, in the same cold. */
const STEADY_BESIDE_BENT = 0.1;
const BENT_FAR_SHARE = 0.15;
const BENT_FAR_PPM = 5;

/** A normal density with heavy tails: errors are sometimes larger than they say. */
function tailed(x: number, se: number): number {
  return (1 - TAIL_SHARE) * normal(x, se) + TAIL_SHARE * normal(x, TAIL_WIDTH * se);
}

/** Two clocks may change their rates apart from each other; one cannot. */
function bendEvidence({ bend, bendSe, bent }: ClockContrast): number {
  if (!Number.isFinite(bendSe)) return 0;
  const one = tailed(bend, bendSe) + 1e-300;
  // Of one that is seen to bend, another clock differs by about as much as it bends itself.
  const steady = bent > 0 ? STEADY_BESIDE_BENT : 1 - BENT_SHARE - BENT_FAR_SHARE;
  const two =
    steady * one +
    (1 - steady - BENT_FAR_SHARE) * normal(bend, Math.hypot(BENT_PPM, bent, bendSe)) +
    BENT_FAR_SHARE * normal(bend, Math.hypot(BENT_FAR_PPM, bendSe));
  return Math.log(one / two);
}

/** Clocks that differ by this log-likelihood ratio are two, whatever else they have in common. */
const DIFFERENT = -3;

/** What is no clock's evidence speaks for one module the less, the more surely two clocks are read. */
function besideEvidence(beside: number, ratio: number): number {
  return beside > 0 ? beside * Math.max(0, Math.min(1, 1 - ratio / DIFFERENT)) : beside;
}

/** Fewer clocks are hardly anywhere: a schedule may be mistaken, and put two clocks far out together. */
const RARE_LEAST = 0.02;

/** How many clocks are so far out, over how many are in the middle of them. */
function rareness(awayPpm: number, spreadPpm: number): number {
  const density = (ppm: number): number =>
    (1 - FAR_SHARE - RESONATOR_SHARE) * normal(ppm, spreadPpm) +
    FAR_SHARE * normal(ppm, FAR_PPM) +
    RESONATOR_SHARE * normal(ppm, RESONATOR_PPM);
  return Math.max(RARE_LEAST, density(awayPpm) / density(0));
}

/** Schedules are mistaken for a few pairs. */
const FAR_SHARE_MOST = 0.3;

/** @param spreadPpm standard deviation of the clocks of a vehicle's modules */
export function sameClockEvidence(between: ClockContrast, spreadPpm: number): number {
  const { ppm, se, phase, order, habit, beside, far, away } = between;
  if (far > FAR_SHARE_MOST) return LEAST;
  const one = tailed(ppm, se);
  const two =
    (1 - FAR_SHARE - RESONATOR_SHARE) * normal(ppm, Math.hypot(Math.SQRT2 * spreadPpm, se)) +
    FAR_SHARE * normal(ppm, Math.hypot(FAR_PPM, se)) +
    RESONATOR_SHARE * normal(ppm, Math.hypot(RESONATOR_PPM, se));
  const ratio = Math.log(one + 1e-300) - Math.log(two * rareness(away, spreadPpm) + 1e-300);
  const clocks = ratio + bendEvidence(between) + habit;
  const sum = clocks + Math.max(phase, order) + besideEvidence(beside, clocks);
  return Math.max(LEAST, Math.min(MOST, sum));
}
