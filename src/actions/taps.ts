/**
 * Three quick presses of one thing as the recording begins or ends, made so that the marks' clock can be set against the capture's: recognised in the marks, and in
 * fields that rest, move three times as quickly and evenly, and rest again. Where only one place of the capture fits the marks' three, it says
 * how far the clocks are apart. A rhythm that comes elsewhere too (a lamp that blinks) says nothing.
 */
import { mean, median, quantile } from '../kit/statistics/order.ts';
import { placeOfCandidate, seriesOf, type Candidate } from '../map/proposed-fields.ts';
import type { FieldSeries } from '../map/field-series.ts';
import { usualIntervalS } from './reaction.ts';
import type { Mark, SyncTaps } from './types.ts';

/** Between the starts of quick presses: a hand taps at 1 to 5 a second; marks of them jitter by a reaction's spread on each side. */
const TAP_S = [0.2, 1.1] as const;
const MARKED_S = [0.1, 1.4] as const;
/** Presses of one rhythm are about as far apart, frames aside. */
const EVEN = 0.25;
/** Before and after the three there is nothing for so many of their intervals. */
const QUIET = 2;
/** Marks of other things that may lie beyond the three at the recording's beginning or end: the key, and what was marked by mistake. */
const BEYOND_MOST = 3;
/** Quick presses last no longer. */
const SHORT_S = 0.6;
/** Share of a field's travel at which it counts as pressed, and below which as let go; where a field rests, half the time it is nearer than this to rest. */
const PRESSED = 0.15;
const LET_GO = 0.08;
const AT_REST = 0.03;
/** Threes that chance may show in all fields together. A second press falls into a marked interval, and a third one evenly behind it, this wide. */
const CHANCE_MOST = 0.05;
const SECOND_S = 0.6;
const THIRD_S = 0.3;
/** Typical spread of one reaction, and farthest that the three may scatter about their mean. */
const REACTION_SD_S = 0.12;
const SCATTER_MOST_S = 0.2;
/** Fields answer one press within so much of each other. */
const ONE_PLACE_S = 0.4;

export interface MarkedTaps {
  readonly action: string;
  readonly edge: SyncTaps['edge'];
  /** When the three were marked to start. */
  readonly atS: readonly number[];
}

const isWithin = (value: number, [low, high]: readonly [number, number]): boolean => value >= low && value <= high;

/** The three where they are quick and nothing of the kind is near; before and after: the neighbours, if there are any. */
function isTriple(
  atS: readonly number[],
  before: number | undefined,
  after: number | undefined,
  gap: readonly [number, number],
): boolean {
  const [a, b, c] = atS as [number, number, number];
  if (!isWithin(b - a, gap) || !isWithin(c - b, gap)) return false;
  const quietS = QUIET * ((c - a) / 2);
  return (before === undefined || a - before >= quietS) && (after === undefined || after - c >= quietS);
}

/** Threes of quick marks at the beginning and at the end of what was marked. */
export function markedTaps(marks: readonly Mark[]): MarkedTaps[] {
  const actions = [...new Set(marks.map(({ action }) => action))];
  return actions.flatMap((action) => {
    const own = marks
      .filter((mark) => mark.action === action)
      .map(({ startS }) => startS)
      .sort((a, b) => a - b);
    return own.slice(0, -2).flatMap((firstS, k): MarkedTaps[] => {
      const atS = own.slice(k, k + 3);
      if (!isTriple(atS, own[k - 1], own[k + 3], MARKED_S)) return [];
      const earlier = marks.filter(({ startS }) => startS < firstS).length;
      const later = marks.filter(({ startS }) => startS > (atS[2] as number)).length;
      if (Math.min(earlier, later) > BEYOND_MOST) return [];
      return [{ action, edge: earlier <= later ? 'start' : 'end', atS }];
    });
  });
}

interface Pulse {
  readonly startS: number;
  readonly endS: number;
}

/** Each time the field leaves where it rests and comes back. */
function pulsesOf({ timeUs, value }: FieldSeries): Pulse[] {
  if (value.length < 20) return [];
  const rest = median(value);
  const away = Float64Array.from(value, (each) => Math.abs(each - rest));
  const moved = away.filter((each) => each > 0);
  if (moved.length === 0) return [];
  const travel = quantile(moved, 0.98);
  if (quantile(away, 0.5) > AT_REST * travel) return [];
  const pulses: Pulse[] = [];
  let startS: number | null = away[0]! > LET_GO * travel ? 0 : null;
  for (let k = 0; k < away.length; k++) {
    const [size, atS] = [away[k] as number, (timeUs[k] as number) / 1e6];
    if (startS === null && size > PRESSED * travel) startS = atS;
    else if (startS !== null && size <= LET_GO * travel) {
      pulses.push({ startS, endS: atS });
      startS = null;
    }
  }
  if (startS !== null) pulses.push({ startS, endS: Number.POSITIVE_INFINITY });
  return pulses;
}

const isShort = ({ startS, endS }: Pulse): boolean => endS - startS <= SHORT_S;

interface Tapped {
  readonly candidate: Candidate;
  readonly triples: readonly number[][];
  /** Threes a second that its short pulses would make if they came at random. */
  readonly chance: number;
}

/** Starts of three quick, even, short pulses with rest before and after; half a frame's interval taken off, which a change waits on average. */
function tapped(candidate: Candidate, durationS: number): Tapped | null {
  const series = seriesOf(candidate);
  const intervalS = usualIntervalS(series.timeUs);
  if (intervalS > TAP_S[0] / 2) return null;
  const pulses = pulsesOf(series);
  const rate = pulses.filter(isShort).length / durationS;
  const triples = pulses.slice(0, -2).flatMap((_, k) => {
    const three = pulses.slice(k, k + 3);
    const [a, b, c] = three.map(({ startS }) => startS) as [number, number, number];
    const [one, two] = [b - a, c - b];
    const isEven = Math.abs(one - two) <= EVEN * ((one + two) / 2) + 2 * intervalS;
    const isQuiet = isTriple([a, b, c], pulses[k - 1]?.endS, pulses[k + 3]?.startS, TAP_S);
    return isEven && isQuiet && three.every(isShort) ? [[a, b, c].map((atS) => atS - intervalS / 2)] : [];
  });
  return rate > 0 ? { candidate, triples, chance: rate ** 3 * SECOND_S * THIRD_S } : null;
}

interface Fitting {
  readonly candidate: Candidate;
  readonly offsetS: number;
  readonly scatterS: number;
  readonly lagS: readonly number[];
}

function fittings(taps: MarkedTaps, { candidate, triples }: Tapped, searchS: readonly [number, number]): Fitting[] {
  return triples.flatMap((atS): Fitting[] => {
    const lags = atS.map((each, k) => each - (taps.atS[k] as number));
    const offsetS = mean(lags);
    const scatterS = Math.sqrt(mean(lags.map((lag) => (lag - offsetS) ** 2)));
    return scatterS <= SCATTER_MOST_S && isWithin(offsetS, searchS)
      ? [{ candidate, offsetS, scatterS, lagS: lags }]
      : [];
  });
}

/** Those that are of one place, the earliest first. */
function places(found: readonly Fitting[]): Fitting[][] {
  const all: Fitting[][] = [];
  for (const each of found.toSorted((a, b) => a.offsetS - b.offsetS)) {
    const last = all.at(-1);
    if (last && each.offsetS - (last[0] as Fitting).offsetS <= ONE_PLACE_S) last.push(each);
    else all.push([each]);
  }
  return all;
}

/** Standard error of a mean of three reactions: their own scatter, and what reactions spread as a rule, worth four more of them. */
const errorOf = (scatterS: number): number => Math.sqrt((3 * scatterS ** 2 + 4 * REACTION_SD_S ** 2) / 6 / 3);

/**
 * @param marks on the rough clock
 * @param searchS offsets that may be, seconds
 * @returns for each three of the marks the one place of the capture that fits them; none where several do. Fields that move so briefly so often that chance makes
 * threes of them are not asked.
 */
export function syncTaps(
  marks: readonly Mark[],
  candidates: readonly Candidate[],
  searchS: readonly [number, number],
  durationS: number,
): SyncTaps[] {
  const marked = markedTaps(marks);
  if (marked.length === 0) return [];
  const fields = candidates.flatMap((candidate) => tapped(candidate, durationS) ?? []);
  const telling = fields.filter(({ chance }) => chance * (searchS[1] - searchS[0]) * fields.length <= CHANCE_MOST);
  return marked.flatMap((taps): SyncTaps[] => {
    const [place, ...others] = places(telling.flatMap((field) => fittings(taps, field, searchS)));
    if (!place || others.length > 0) return [];
    const { candidate, offsetS, scatterS, lagS } = place[0] as Fitting;
    const { bus, id, extended, field } = placeOfCandidate(candidate);
    const { action, edge, atS } = taps;
    const seS = errorOf(scatterS);
    return [{ action, edge, atS, lagS, offsetS, seS, bus, id, extended, field, fields: place.length }];
  });
}
