/**
 * The clocks of a capture's senders as curves: how far each identifier's clock has run ahead of a chosen group's, and how an
 * identifier strays from a group over the same minutes. One clock keeps a bounded distance; two drift apart in a ramp. Works on the
 * least strays of windows that `trackClock` reads, so that a busy bus lifts few of them; the capture's own clock cancels.
 */
import { MISSING } from '../../kit/missing.ts';
import { createRandom } from '../../kit/random.ts';
import { medianSlopeLine } from '../../kit/statistics/line.ts';
import { robustLine } from '../../kit/statistics/robust-line.ts';
import { median } from '../../kit/statistics/order.ts';
import type { SenderMember } from './keep-letters.ts';

/** One identifier's clock as it was read. */
export interface ClockReadings extends SenderMember {
  /** [windows] microseconds behind its nominal ticks, from a start of its own; MISSING where there are few frames, or none. */
  readonly leastUs: Float64Array;
}

/** What the engine answers: every identifier whose clock shows. */
export interface Clocks {
  /** [windows] seconds from the capture's origin. */
  readonly middlesS: Float64Array;
  readonly readings: readonly ClockReadings[];
}

export interface DriftLine extends SenderMember {
  readonly group: string | null;
  /** [windows] microseconds ahead of the reference's clock, from its beginning; MISSING where nothing was heard. */
  readonly aheadUs: Float64Array;
}

export interface DriftPicture {
  readonly middlesS: Float64Array;
  /** The group that all are held against; null where no group shows a clock. */
  readonly reference: string | null;
  readonly lines: readonly DriftLine[];
  /** Each group's clock, by letter: the median over its identifiers. */
  readonly fans: readonly { readonly group: string; readonly aheadUs: Float64Array }[];
}

/** How an identifier keeps to a group's clock. */
export interface Residual {
  /** [windows] microseconds, about their median. */
  readonly strayUs: Float64Array;
  /** How much faster the identifier's clock runs, and its standard error; null with too few windows. */
  readonly drift: { readonly ppm: number; readonly se: number } | null;
  /** What the windows scatter by about the line, microseconds, as a standard deviation. */
  readonly scatterUs: number;
  /** Seconds between the first and the last window in common. */
  readonly spanS: number;
  readonly windows: number;
  readonly verdict: 'one clock' | 'two clocks' | 'cannot tell';
}

/** Fewer windows in common say nothing. */
const WINDOWS_LEAST = 6;
/** A slope this many standard errors from zero is a ramp. */
const RAMP_SE = 4;
/** A ramp shorter than a wait for a frame under way is none: 135 bits at 500 kbit/s last 270 us (ISO 11898-1). */
const RAMP_LEAST_US = 135;
/** A slope known no better than to this over the span could hide another clock, microseconds. */
const TOLD_WITHIN_US = 500;
const SEED = 1;

const isThere = (value: number): boolean => !Number.isNaN(value);
const finiteMedian = (values: Float64Array): number => {
  const there = values.filter(isThere);
  return there.length ? median(there) : MISSING;
};

/** Median of a less b over the windows that both have. */
const offsetBetween = (a: Float64Array, b: Float64Array): number =>
  finiteMedian(a.map((value, window) => value - (b[window] as number)));

const countOf = (values: Float64Array): number => values.filter(isThere).length;

/** The median clock of several identifiers, each shifted onto the one that was heard longest; MISSING where none was heard. */
function groupClock(members: readonly ClockReadings[]): Float64Array | null {
  const ordered = [...members].sort((a, b) => countOf(b.leastUs) - countOf(a.leastUs));
  const first = ordered[0];
  if (!first) return null;
  const aligned: Float64Array[] = [first.leastUs];
  for (const { leastUs } of ordered.slice(1)) {
    // Who shares no window with the longest may share some with another that is placed already.
    const to = aligned.find((other) => isThere(offsetBetween(leastUs, other)));
    if (to) aligned.push(shifted(leastUs, offsetBetween(leastUs, to)));
  }
  return first.leastUs.map((_, window) => finiteMedian(Float64Array.from(aligned, (line) => line[window] as number)));
}

const shifted = (values: Float64Array, by: number): Float64Array => values.map((value) => value - by);

/** Ahead is negative stray: who runs fast sends before the tick. */
const aheadOf = (leastUs: Float64Array, reference: Float64Array): Float64Array =>
  leastUs.map((value, window) => (reference[window] as number) - value);

/** So that the curve starts at zero with the capture: its first window lies on the straight line from there. */
function fromStart(aheadUs: Float64Array, middlesS: Float64Array): Float64Array {
  const at = [...aheadUs.keys()].filter((window) => isThere(aheadUs[window] as number));
  const [first] = at;
  if (first === undefined) return aheadUs;
  const [x, y] = [at.map((window) => middlesS[window] as number), at.map((window) => aheadUs[window] as number)];
  const slope = at.length > 1 ? medianSlopeLine(x, y, createRandom(SEED)).scale : 0;
  return shifted(aheadUs, (aheadUs[first] as number) - slope * (middlesS[first] as number));
}

export type GroupOf = (member: SenderMember) => string | null;

const lettersOf = (readings: readonly ClockReadings[], groupOf: GroupOf): string[] =>
  [...new Set(readings.flatMap((reading) => groupOf(reading) ?? []))].sort();

/** Each group's clock in microseconds behind the nominal ticks of its longest member. */
function clocksOf(readings: readonly ClockReadings[], groupOf: GroupOf): Map<string, Float64Array> {
  const clocks = lettersOf(readings, groupOf).map((group) => {
    const members = readings.filter((reading) => groupOf(reading) === group);
    return [group, groupClock(members) as Float64Array] as const;
  });
  return new Map(clocks);
}

/** The group in the middle of all by rate: of an even number the slower of the two. */
function middleGroup(clocks: ReadonlyMap<string, Float64Array>, middlesS: Float64Array): string | null {
  const rates = [...clocks].map(([group, leastUs]) => {
    const at = [...leastUs.keys()].filter((window) => isThere(leastUs[window] as number));
    const [x, y] = [at.map((window) => middlesS[window] as number), at.map((window) => leastUs[window] as number)];
    return { group, slope: at.length > 1 ? medianSlopeLine(x, y, createRandom(SEED)).scale : MISSING };
  });
  const ranked = rates.filter(({ slope }) => isThere(slope)).sort((a, b) => a.slope - b.slope);
  return ranked[Math.floor(ranked.length / 2)]?.group ?? null;
}

/**
 * @param groupOf by the letters that the page shows, moves by hand included
 * @param reference the group whose clock is the level line; null: the one in the middle
 * Cost: identifiers x windows^2. Pure.
 */
export function driftPicture(clocks: Clocks, groupOf: GroupOf, reference: string | null): DriftPicture {
  const { middlesS, readings } = clocks;
  const byGroup = clocksOf(readings, groupOf);
  const chosen = reference !== null && byGroup.has(reference) ? reference : middleGroup(byGroup, middlesS);
  const level = chosen === null ? null : (byGroup.get(chosen) ?? null);
  if (level === null) return { middlesS, reference: null, lines: [], fans: [] };
  const fans = [...byGroup].map(([group, leastUs]) => ({
    group,
    aheadUs: fromStart(aheadOf(leastUs, level), middlesS),
  }));
  const fanOf = new Map(fans.map(({ group, aheadUs }) => [group, aheadUs]));
  const lines = readings.map(({ bus, id, extended, leastUs }): DriftLine => {
    const group = groupOf({ bus, id, extended });
    const own = aheadOf(leastUs, level);
    const fan = group === null ? undefined : fanOf.get(group);
    const away = fan ? offsetBetween(own, fan) : MISSING;
    return { bus, id, extended, group, aheadUs: isThere(away) ? shifted(own, away) : fromStart(own, middlesS) };
  });
  return { middlesS, reference: chosen, lines, fans };
}

const same = (a: SenderMember, b: SenderMember): boolean =>
  a.bus === b.bus && a.id === b.id && a.extended === b.extended;

function judge(ppm: number, se: number, spanS: number): Residual['verdict'] {
  const [rampUs, seUs] = [Math.abs(ppm) * spanS, se * spanS];
  if (rampUs > RAMP_SE * seUs && rampUs > RAMP_LEAST_US) return 'two clocks';
  return rampUs < TOLD_WITHIN_US && RAMP_SE * seUs < TOLD_WITHIN_US ? 'one clock' : 'cannot tell';
}

/** Stamps cut to steps err by up to one: their standard deviation as a share of it, 1 / sqrt(12). */
const STEP_SD = 0.29;

/**
 * One identifier against a group's clock, itself left out of it.
 * @param stepUs what stamps are multiples of, or batches apart: clocks that stray by less than that look like one, and are not told
 * @returns null where either shows no clock
 */
export function residualAgainst(
  clocks: Clocks,
  groupOf: GroupOf,
  one: SenderMember,
  group: string,
  stepUs: number,
): Residual | null {
  const own = clocks.readings.find((reading) => same(reading, one));
  const others = clocks.readings.filter((reading) => !same(reading, one) && groupOf(reading) === group);
  const clock = groupClock(others);
  if (!own || !clock) return null;
  const away = aheadOf(own.leastUs, clock);
  const strayUs = shifted(away, finiteMedian(away));
  const at = [...strayUs.keys()].filter((window) => isThere(strayUs[window] as number));
  const x = at.map((window) => clocks.middlesS[window] as number);
  const y = at.map((window) => strayUs[window] as number);
  const spanS = at.length > 1 ? (x[x.length - 1] as number) - (x[0] as number) : 0;
  const few = { strayUs, drift: null, scatterUs: MISSING, spanS, windows: at.length };
  if (at.length < WINDOWS_LEAST) return { ...few, verdict: 'cannot tell' };
  const line = robustLine(x, y, createRandom(SEED), true);
  const drift = { ppm: line.scale, se: Math.hypot(line.scaleSe, (STEP_SD * stepUs) / spanS) };
  return { ...few, drift, scatterUs: line.residualSd, verdict: judge(drift.ppm, drift.se, spanS) };
}
