/**
 * Occasions on which identifiers of a bus begin, stop or count anew, but not all of them alike: wake-ups, sleeps, and gaps through
 * which others send on. A pause of the logger is no occasion: after it everyone is back within a period. How modules boot and
 * fall asleep each in its own time is common practice, no source.
 */
import { upperBound } from '../../frames/pictures/columns.ts';
import { MISSING } from '../../kit/missing.ts';
import type { ClockReading, Recorded } from './clock-reading.ts';

/** When each of n identifiers did it, microseconds: MISSING where that says nothing, Infinity where it ran on through it. */
export type Occasion = Float64Array;

export interface Occasions {
  readonly starts: readonly Occasion[];
  readonly stops: readonly Occasion[];
  readonly restarts: readonly Occasion[];
}

/** Frames of one module begin within a period of each other, and one more tick of a task. */
const TICK_US = 10_000;
/** Who comes later than so many of its periods after the first of all was not there before: no frame or two were lost. */
const LATE_PERIODS = 2;
/** So many must be late, and such a share, before a pause is taken as a sleep. */
const LATE_LEAST = 2;
const LATE_SHARE = 0.2;
/** Shorter gaps may be frames lost, or a busy task. */
const GAP_PERIODS = 8;
const GAP_LEAST_US = 300_000;
/** Company counts only where its period is not much longer: a slow frame is near everyone's. */
const PERIODS_ALIKE = 10;
/** Counters that begin anew so close to each other are looked at together. */
const RESTARTS_APART_US = 1_000_000;
/** More occasions of a kind are not looked at: the first tell it. */
const OCCASIONS_MOST = 24;

/** How far apart two identifiers of one module may begin. */
export const withinUs = (one: ClockReading, other: ClockReading, stepUs: number): number =>
  Math.max(one.track.nominalUs, other.track.nominalUs) + TICK_US + stepUs;

/** What nobody else did then is an identifier's own affair, such as a frame that is sent in one mode only. */
function withoutLonely(moments: Occasion, readings: readonly ClockReading[], stepUs: number): Occasion {
  return moments.map((us, i) => {
    if (!Number.isFinite(us)) return us;
    const own = readings[i] as ClockReading;
    const hasCompany = readings.some(
      (other, k) =>
        k !== i &&
        other.track.nominalUs <= PERIODS_ALIKE * own.track.nominalUs &&
        Math.abs(us - (moments[k] as number)) <= withinUs(own, other, stepUs),
    );
    return hasCompany ? us : MISSING;
  });
}

/** Whether the identifiers began one after the other, as modules boot; `sign` -1: stopped so. */
function isStaggered(moments: Occasion, readings: readonly ClockReading[], stepUs: number, sign: 1 | -1): boolean {
  const heard = [...moments.keys()].filter((i) => Number.isFinite(moments[i] as number));
  const first = heard.reduce((least, i) => Math.min(least, sign * (moments[i] as number)), Infinity);
  const late = heard.filter((i) => {
    const { nominalUs } = (readings[i] as ClockReading).track;
    return sign * (moments[i] as number) - first > LATE_PERIODS * nominalUs + TICK_US + stepUs;
  });
  return late.length >= Math.max(LATE_LEAST, LATE_SHARE * heard.length);
}

type Pair = readonly [starts: Occasion, stops: Occasion];

/** First and last frames of each identifier between two silences of the whole bus. */
function wakings(readings: readonly ClockReading[], on: readonly boolean[], pausesUs: readonly number[]): Pair[] {
  const ends = [...pausesUs, Infinity];
  return ends.map((toUs, place): Pair => {
    const fromUs = place === 0 ? -Infinity : (ends[place - 1] as number);
    const starts = new Float64Array(readings.length).fill(MISSING);
    const stops = starts.slice();
    readings.forEach(({ stream: { timeUs } }, i) => {
      const [from, to] = [upperBound(timeUs, fromUs + 0.5), upperBound(timeUs, toUs + 0.5)];
      if (!on[i] || to <= from) return;
      starts[i] = timeUs[from] as number;
      stops[i] = timeUs[to - 1] as number;
    });
    return [starts, stops];
  });
}

interface OwnGap {
  readonly at: number;
  readonly fromUs: number;
  readonly toUs: number;
}

/** Gaps of one identifier while its bus goes on. O(frames) */
function ownGaps(at: number, { stream, track }: ClockReading, pausesUs: readonly number[]): OwnGap[] {
  const { timeUs } = stream;
  const limitUs = Math.max(GAP_PERIODS * track.nominalUs, GAP_LEAST_US);
  const gaps: OwnGap[] = [];
  for (let row = 1; row < timeUs.length; row++) {
    const [fromUs, toUs] = [timeUs[row - 1] as number, timeUs[row] as number];
    if (toUs - fromUs <= limitUs) continue;
    if (!pausesUs.some((us) => us >= fromUs - 0.5 && us < toUs)) gaps.push({ at, fromUs, toUs });
  }
  return gaps;
}

/** Gaps that overlap are of one occasion. */
function overlapping(gaps: readonly OwnGap[]): OwnGap[][] {
  const sets: OwnGap[][] = [];
  let endUs = -Infinity;
  for (const gap of [...gaps].sort((a, b) => a.fromUs - b.fromUs)) {
    if (gap.fromUs < endUs) (sets[sets.length - 1] as OwnGap[]).push(gap);
    else sets.push([gap]);
    endUs = Math.max(endUs, gap.toUs);
  }
  return sets;
}

/** Who sent all through a stretch, as far as its period shows. */
function sendsThrough({ stream: { timeUs, count }, track }: ClockReading, fromUs: number, toUs: number): boolean {
  const isFast = GAP_PERIODS * track.nominalUs <= toUs - fromUs;
  return isFast && (timeUs[0] as number) <= fromUs && (timeUs[count - 1] as number) >= toUs;
}

function gapOccasion(gaps: readonly OwnGap[], readings: readonly ClockReading[], on: readonly boolean[]): Pair {
  const fromUs = Math.min(...gaps.map((gap) => gap.fromUs));
  const toUs = Math.max(...gaps.map((gap) => gap.toUs));
  const starts = Float64Array.from(readings, (reading, i) =>
    on[i] && sendsThrough(reading, fromUs, toUs) ? Infinity : MISSING,
  );
  const stops = starts.slice();
  for (const gap of gaps) {
    const isFirst = !Number.isFinite(starts[gap.at] as number);
    starts[gap.at] = isFirst ? gap.toUs : MISSING;
    stops[gap.at] = isFirst ? gap.fromUs : MISSING;
  }
  return [starts, stops];
}

/** When a counter began anew while the bus went on; undefined: none that tells. */
function ownRestarts({ stream }: ClockReading, { restarts }: Recorded, pausesUs: readonly number[]): number[] | null {
  const rows = restarts?.get(stream);
  if (!rows) return null;
  const times = [...rows].map((row) => [stream.timeUs[row - 1] as number, stream.timeUs[row] as number] as const);
  const isOwn = ([fromUs, toUs]: readonly [number, number]): boolean =>
    !pausesUs.some((us) => us >= fromUs - 0.5 && us < toUs);
  return times.filter(isOwn).map(([, toUs]) => toUs);
}

/** @param restartsUs by place; null: says nothing */
function restartOccasions(restartsUs: readonly (readonly number[] | null)[]): Occasion[] {
  const all = restartsUs.flatMap((times, at) => (times ?? []).map((us) => ({ at, us })));
  const sets: Occasion[] = [];
  let lastUs = -Infinity;
  for (const { at, us } of all.sort((a, b) => a.us - b.us)) {
    if (us - lastUs > RESTARTS_APART_US)
      sets.push(Float64Array.from(restartsUs, (times) => (times === null ? MISSING : Infinity)));
    (sets[sets.length - 1] as Occasion)[at] = us;
    lastUs = us;
  }
  return sets;
}

/** Of one bus. Cost: O(frames) */
export function findOccasions(readings: readonly ClockReading[], bus: string, recorded: Recorded): Occasions {
  const { stepUs } = recorded;
  const on = readings.map(({ stream }) => stream.bus === bus);
  const pauses = recorded.pausesUs.get(bus) ?? [];
  const awake = wakings(readings, on, pauses);
  const gaps = readings.flatMap((reading, at) => (on[at] ? ownGaps(at, reading, pauses) : []));
  const gapped = overlapping(gaps)
    .filter((each) => new Set(each.map(({ at }) => at)).size > 1)
    .slice(0, OCCASIONS_MOST)
    .map((each) => gapOccasion(each, readings, on));
  const kept = (occasions: readonly Occasion[]): Occasion[] =>
    occasions.slice(0, OCCASIONS_MOST).map((moments) => withoutLonely(moments, readings, stepUs));
  const starts = awake.map(([moments]) => moments).filter((each) => isStaggered(each, readings, stepUs, 1));
  const stops = awake.map(([, moments]) => moments).filter((each) => isStaggered(each, readings, stepUs, -1));
  const anew = readings.map((reading, at) => (on[at] ? ownRestarts(reading, recorded, pauses) : null));
  return {
    starts: kept([...starts, ...gapped.map(([moments]) => moments)]),
    stops: kept([...stops, ...gapped.map(([, moments]) => moments)]),
    restarts: kept(restartOccasions(anew)),
  };
}
