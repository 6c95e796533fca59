/**
 * Identifiers that follow another one on the wire: answers, copies that keep the rhythm of their original. They show the clock of what
 * they follow, so that no clock can tell who sends them. Two frames of one clock keep a distance too; what tells them apart is an
 * accident that only the wire makes: the leader had to wait for a foreign frame. Who follows waits as much longer, who only shares
 * the clock does not. That is the slope of an instrumental variable (Wald 1940), the instrument being how long the wire had been
 * busy with foreign frames when the leader came.
 */
import { upperBound } from '../../frames/pictures/columns.ts';
import type { Steps } from '../../frames/pictures/steps.ts';
import type { Stream } from '../../frames/table.ts';
import { MISSING } from '../../kit/missing.ts';
import { formatId } from '../../kit/units.ts';
import { robustSd } from '../robust.ts';
import type { BusFrames } from '../bus-frames.ts';
import type { BusyPeriods } from './busy-periods.ts';
import type { FollowedClock } from './clock-reading.ts';
import { sharedByEra, type Companions } from './companions.ts';

export interface Follower {
  readonly of: Stream;
  /** Median time from the end of the leader's frame to the end of its own, microseconds. */
  readonly delayUs: number;
  /** How much of the leader's wait it waits too: 1 for who follows, 0 for who keeps the same clock; and its standard error. */
  readonly slope: number;
  readonly se: number;
}

/** For a person. */
export const followerWords = ({ of, delayUs, slope, se }: Follower): string =>
  `follows ${formatId(of.id)} of ${of.bus} by ${(delayUs / 1000).toFixed(2)} ms: of that one's waits for the bus it has ${slope.toFixed(2)} (se ${se.toFixed(2)}), so its clock is that one's sender's`;

/** Later, or by a larger share of the period, it may as well come before the next. */
const DELAY_MAX_US = 200_000;
const SOON_SHARE = 0.6;
/** Schedules that differ by more than this share are two. */
const ONE_PERIOD = 1e-4;
/** First rows to be looked at; delays that spread by more, microseconds and share of the period, keep no distance. */
const FIRST_LOOK = 48;
const SPREAD_MAX_US = 3000;
const SPREAD_SHARE = 0.1;
/** Rows looked at, in stretches from all over the capture. */
const STRETCHES = 8;
const STRETCH_ROWS = 600;
const ROWS_LEAST = 30;
/** So many of its frames must have a leader's before them. */
const LED_SHARE = 0.9;
/** What is left of a stray is taken against so many neighbours on each side. */
const NEIGHBOURS = 8;
/** A longer wait says no more; further from the usual, delays and strays are accidents. Microseconds. */
const WAIT_MOST_US = 800;
const ACCIDENT_US = 3000;
const ACCIDENT_SD = 4;
/** Of the busy periods of the rarer of two, the share in which frames of one task are sent together, in every part of the capture. */
const LOCKED_SHARE = 0.5;
/** The leader waits for a part of the time that the wire was busy: so much later a microsecond, and so many standard errors. */
const WAITS = [0.12, 1.7] as const;
const WAITS_SE = 4;
/** What is taken for following: a slope of 1 so much likelier than one of 0 (log), and no further from 1 than its error. */
const FOLLOWS_LEAST = 6;
const SLOPE_SE = 0.1;
const NEAR_SE = 3.5;

interface Led {
  /** What the leader had before it on the wire, what it strays by, and the time from its frame on; microseconds. */
  readonly foreignUs: number;
  readonly matesUs: number;
  readonly strayUs: number;
  readonly delayUs: number;
}

/** Values without the mean of their neighbours; MISSING where those are too few. */
function withoutLevel(values: readonly number[]): number[] {
  return values.map((own, i) => {
    let [sum, n] = [0, 0];
    for (let k = Math.max(0, i - NEIGHBOURS); k <= Math.min(values.length - 1, i + NEIGHBOURS); k++) {
      if (k === i || Number.isNaN(values[k] as number)) continue;
      sum += values[k] as number;
      n++;
    }
    return n < NEIGHBOURS / 2 ? MISSING : own - sum / n;
  });
}

/** Time from the last frame of the leader to a row; Infinity before the first. */
function delayAt(leader: Stream, us: number): readonly [row: number, delayUs: number] {
  const row = upperBound(leader.timeUs, us - 1) - 1;
  return [row, row < 0 ? Infinity : us - (leader.timeUs[row] as number)];
}

/** At a first look, whether it keeps its distance to the leader's frames and comes soon after them. */
function keepsDistance({ stream: leader, track }: FollowedClock, { stream, track: own }: FollowedClock): boolean {
  const rows = own.toRow - own.fromRow;
  const delays = Float64Array.from({ length: Math.min(FIRST_LOOK, rows) }, (_, i) => {
    const row = own.fromRow + Math.floor(((i + 0.5) * rows) / Math.min(FIRST_LOOK, rows));
    return delayAt(leader, stream.timeUs[row] as number)[1];
  }).sort();
  const [low, middle, high] = [0.25, 0.5, 0.75].map((q) => delays[Math.floor(q * delays.length)] as number);
  const isSoon = (middle as number) <= Math.min(DELAY_MAX_US, SOON_SHARE * track.nominalUs);
  const spread = (high as number) - (low as number);
  return isSoon && spread <= Math.min(SPREAD_MAX_US, SPREAD_SHARE * track.nominalUs);
}

/** Whether a frame that leaves before a stream's own is of its task, so that a wait behind it is no accident. */
type Locked = (one: Stream, before: number) => boolean;

/** What each row of a stream found before it in its busy period, microseconds on the wire: [count] foreign frames, and its own task's. */
interface Waits {
  readonly foreignUs: Float64Array;
  readonly matesUs: Float64Array;
}

/** O(frames of the bus). */
function waitsOf(
  { index, count }: Stream,
  frames: BusFrames,
  starts: Uint32Array,
  wireUs: Float64Array,
  isMate: (before: number) => boolean,
): Waits {
  const [foreignUs, matesUs] = [new Float64Array(count), new Float64Array(count)];
  for (let p = 0; p + 1 < starts.length; p++) {
    let [foreign, mates] = [0, 0];
    for (let i = starts[p] as number; i < (starts[p + 1] as number); i++) {
      const stream = frames.stream[i] as number;
      if (stream === index) {
        foreignUs[frames.row[i] as number] = Math.min(WAIT_MOST_US, foreign);
        matesUs[frames.row[i] as number] = Math.min(WAIT_MOST_US, mates);
      }
      if (isMate(stream)) mates += wireUs[stream] as number;
      else foreign += wireUs[stream] as number;
    }
  }
  return { foreignUs, matesUs };
}

/** Rows that a leader's frame came before and that went to the wire at once, or behind their own task: else they waited on their own account. */
function ledRows(
  leader: FollowedClock,
  own: FollowedClock,
  waits: Waits,
  ownWaits: Waits,
  ownBeganUs: Float64Array,
): Led[] {
  const most = Math.min(DELAY_MAX_US, SOON_SHARE * leader.track.nominalUs);
  const sameBus = leader.stream.bus === own.stream.bus;
  const { fromRow, toRow } = own.track;
  const stretch = Math.ceil((toRow - fromRow) / STRETCHES);
  const led: Led[] = [];
  let [looked, near] = [0, 0];
  for (let row = fromRow; row < toRow; row++) {
    if ((row - fromRow) % stretch >= STRETCH_ROWS) continue;
    const [at, delayUs] = delayAt(leader.stream, own.stream.timeUs[row] as number);
    if (at < 0) continue;
    looked++;
    if (delayUs > most) continue;
    near++;
    if (sameBus && (ownBeganUs[row] as number) <= (leader.stream.timeUs[at] as number)) continue;
    if ((ownWaits.foreignUs[row] as number) > 0) continue;
    const [foreignUs, matesUs] = [waits.foreignUs[at] as number, waits.matesUs[at] as number];
    led.push({ foreignUs, matesUs, strayUs: leader.track.strayUs[at] as number, delayUs });
  }
  return near >= LED_SHARE * looked ? led : [];
}

function isSlope(slope: number, se: number): boolean {
  const error = Math.hypot(se, SLOPE_SE);
  return (2 * slope - 1) / (2 * error ** 2) > FOLLOWS_LEAST && Math.abs(slope - 1) < NEAR_SE * error;
}

const meanOf = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;

const product = (a: readonly number[], b: readonly number[]): number =>
  meanOf(a.map((value, i) => value * (b[i] as number)));

/** About its mean, and without what goes with `other`, which is about its own. */
function apartFrom(values: readonly number[], other: readonly number[] | null): number[] {
  const middle = meanOf(values);
  const rest = values.map((value) => value - middle);
  const share = other ? product(rest, other) / Math.max(1, product(other, other)) : 0;
  return other ? rest.map((value, i) => value - share * (other[i] as number)) : rest;
}

/** How it follows one leader; null where it does not, or that cannot be told. */
function followingOf(leader: Stream, rows: readonly Led[]): Follower | null {
  if (rows.length < ROWS_LEAST) return null;
  const sorted = Float64Array.from(rows, ({ delayUs }) => delayUs).sort();
  const delayUs = sorted[sorted.length >> 1] as number;
  const usualUs = ACCIDENT_SD * robustSd(sorted) + 100;
  const strays = withoutLevel(rows.map(({ strayUs }) => strayUs));
  const delays = withoutLevel(rows.map((row) => (Math.abs(row.delayUs - delayUs) < usualUs ? row.delayUs : MISSING)));
  const kept = [...rows.keys()].filter((i) => Math.abs(strays[i] as number) < ACCIDENT_US && !Number.isNaN(delays[i]));
  if (kept.length < ROWS_LEAST) return null;
  const pick = (of: (i: number) => number): number[] => kept.map(of);
  const mates = apartFrom(
    pick((i) => (rows[i] as Led).matesUs),
    null,
  );
  const [foreign, stray, delay] = [
    pick((i) => (rows[i] as Led).foreignUs),
    pick((i) => strays[i] as number),
    pick((i) => delays[i] as number),
  ].map((values) => apartFrom(values, mates)) as [number[], number[], number[]];
  const variance = product(foreign, foreign);
  const [withStray, withDelay] = [product(foreign, stray), product(foreign, delay)];
  const waits = withStray / variance;
  const waitsSe = Math.sqrt(product(stray, stray) / variance / kept.length);
  if (!(waits > WAITS[0] && waits < WAITS[1] && waits > WAITS_SE * waitsSe)) return null;
  const [slope, se] = [1 + withDelay / withStray, Math.sqrt(product(delay, delay) / variance / kept.length) / waits];
  return isSlope(slope, se) ? { of: leader, delayUs, slope, se } : null;
}

function lockedBy(clocks: readonly FollowedClock[], companions: Companions): Locked {
  const places = new Map(clocks.map(({ stream }, place) => [stream.index, place]));
  const known = new Map<number, boolean>();
  return (one, opener) => {
    const [a, b] = [places.get(one.index), places.get(opener)];
    if (one.index === opener) return true;
    if (a === undefined || b === undefined) return false;
    const key = a * clocks.length + b;
    const isLocked = known.get(key) ?? leastShared(companions, a, b) >= LOCKED_SHARE;
    known.set(key, isLocked);
    return isLocked;
  };
}

function leastShared(companions: Companions, a: number, b: number): number {
  const shares = sharedByEra(companions, a, b).filter((share) => share >= 0);
  return shares.length === 0 ? 0 : shares.reduce((least, share) => Math.min(least, share));
}

/** What is known of the bus's order. */
export interface WireOrder {
  /** In the order of the table's buses, as those of `busy`. */
  readonly buses: readonly BusFrames[];
  readonly busy: BusyPeriods;
  /** Of the streams of the clocks. */
  readonly companions: Companions;
}

/**
 * Who follows whom, for stamps of single microseconds. A leader is on any bus whose stamps are of the same clock.
 * Cost: the frames of its bus for each stream, and a sample of frames for each two streams of one period that keep their distance.
 */
export function* findFollowers(
  clocks: readonly FollowedClock[],
  { buses, busy, companions }: WireOrder,
): Steps<Map<Stream, Follower>> {
  const isLocked = lockedBy(clocks, companions);
  const found = new Map<Stream, Follower>();
  const known = new Map<Stream, Waits>();
  const waitsFor = ({ stream }: FollowedClock): Waits => {
    const bus = buses.findIndex(({ streams }) => streams.includes(stream));
    const isMate = (before: number): boolean => isLocked(stream, before);
    const own =
      known.get(stream) ??
      waitsOf(stream, buses[bus] as BusFrames, busy.starts[bus] as Uint32Array, busy.wireUs, isMate);
    known.set(stream, own);
    return own;
  };
  const follows = (own: FollowedClock, leader: FollowedClock): Follower | null => {
    const began = busy.beganUs[own.stream.index] as Float64Array;
    return followingOf(leader.stream, ledRows(leader, own, waitsFor(leader), waitsFor(own), began));
  };
  for (const own of clocks) {
    for (const leader of clocks) {
      const ratio = own.track.nominalUs / leader.track.nominalUs;
      if (own === leader || Math.abs(ratio - 1) > ONE_PERIOD || !keepsDistance(leader, own)) continue;
      const following = follows(own, leader);
      yield;
      const before = found.get(own.stream);
      if (!following || (before && before.delayUs <= following.delayUs)) continue;
      if (!follows(leader, own)) found.set(own.stream, following);
    }
    yield;
  }
  return found;
}
