/**
 * What answers most marks in time comes first, and of those the earliest: what a person touches answers each time, a reaction after the
 * mark, and before what follows from it; what they did before or do next keeps time less well. The others follow, strongest first.
 */
import { median } from '../kit/statistics/order.ts';
import { fieldKey } from '../map/proposed-fields.ts';
import type { Link } from './types.ts';

export interface TimedLink {
  readonly link: Link;
  /** Usual interval between the field's frames. */
  readonly intervalS: number;
  readonly isNumber: boolean;
  /** When it answered each mark that its direction asks about, seconds after it; NaN where not in time. */
  readonly lags: Float64Array;
}

/** Of the marks that the best field answers in time. */
const ABOUT_AS_OFTEN = 0.75;
/** The offset holds the mean reaction: what changes sooner than people differ from it was done before. */
const BEFORE_S = -0.3;

const keyOf = ({ link }: TimedLink): string => fieldKey(link);
const inTimeOf = ({ link }: TimedLink): number => link.inTime ?? 0;
const surpriseOf = ({ link }: TimedLink): number => link.surprise ?? 0;

/** When a field answers: at the marks' starts where it does so, else at their ends. */
function fieldTimes(links: readonly TimedLink[]): Map<string, TimedLink> {
  const times = new Map<string, TimedLink>();
  const isBetter = (one: TimedLink, other: TimedLink): boolean => {
    const starts = [one, other].map(({ link }) => link.direction !== 'release');
    return starts[0] === starts[1] ? inTimeOf(one) > inTimeOf(other) : (starts[0] as boolean);
  };
  for (const each of links) {
    const known = times.get(keyOf(each));
    if (!known || isBetter(each, known)) times.set(keyOf(each), each);
  }
  return times;
}

/** A median is so much wider than a mean, normal; times are read to this. */
const MEDIAN_WIDER = 1.25;
const READ_TO_S = 0.01;

/** Two standard deviations: one order in twenty is told by chance. */
const SURE_Z = 2;

/** What frames leave open of the difference of two middle lags: a change waits up to an interval for its frame. */
const openS = (a: TimedLink, b: TimedLink): number =>
  READ_TO_S +
  (SURE_Z * MEDIAN_WIDER * Math.hypot(a.intervalS, b.intervalS)) /
    Math.sqrt(12 * Math.max(1, Math.min(inTimeOf(a), inTimeOf(b))));

const PAIRED_LEAST = 3;

/** By how much the second answers later: mark by mark where both answer the same ones, so that a person's own reaction is in neither. */
function laterS(a: TimedLink, b: TimedLink): number {
  const isAtEnd = [a, b].map(({ link }) => link.direction === 'release');
  const pairs = isAtEnd[0] === isAtEnd[1] ? [...b.lags].map((lag, mark) => lag - (a.lags[mark] as number)) : [];
  const known = pairs.filter((later) => !Number.isNaN(later));
  return known.length >= PAIRED_LEAST ? median(known) : b.link.lagS - a.link.lagS;
}

/**
 * Of two that change in one moment as far as can be told, a number comes before a flag, which is made from a number and never the other way; and of two of a kind
 * the one whose answer is the more surprising, which has less else to do.
 */
function inMoments(fields: readonly TimedLink[], strength: ReadonlyMap<string, number>): TimedLink[] {
  const out = [...fields];
  const strengthOf = (each: TimedLink): number => strength.get(keyOf(each)) ?? 0;
  const isFirst = (one: TimedLink, other: TimedLink): boolean =>
    one.isNumber === other.isNumber ? strengthOf(one) > strengthOf(other) : one.isNumber;
  for (let at = out.length - 1; at > 0; at--) {
    const [before, own] = [out[at - 1], out[at]] as [TimedLink, TimedLink];
    if (isFirst(own, before) && laterS(before, own) <= openS(own, before)) [out[at - 1], out[at]] = [own, before];
  }
  return out;
}

export function rankClaims(links: readonly TimedLink[]): Link[] {
  const times = [...fieldTimes(links).values()];
  const most = Math.max(0, ...times.map(inTimeOf));
  const top = times.filter((each) => inTimeOf(each) >= ABOUT_AS_OFTEN * most && each.link.lagS >= BEFORE_S);
  const strength = new Map<string, number>();
  for (const each of links) strength.set(keyOf(each), Math.max(strength.get(keyOf(each)) ?? 0, surpriseOf(each)));
  const byLag = top.sort((a, b) => a.link.lagS - b.link.lagS);
  const order = inMoments(byLag, strength).map(keyOf);
  const place = (each: TimedLink): number => {
    const at = order.indexOf(keyOf(each));
    return at < 0 ? order.length : at;
  };
  return links.toSorted((a, b) => place(a) - place(b) || surpriseOf(b) - surpriseOf(a)).map(({ link }) => link);
}
