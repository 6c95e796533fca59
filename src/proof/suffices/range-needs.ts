/**
 * How far an action was taken. Nobody knows the end of a pedal's range from its numbers; but a range that was gone through shows its end: what answers
 * comes to rest at one and the same greatest value, press after press, while feet that stop short each stop elsewhere and tremble there.
 */
import { CLAIM_Q } from '../../actions/claims.ts';
import type { Link, LinkReport, Mark } from '../../actions/types.ts';
import type { FrameFindings } from '../../fields/types.ts';
import { lowerBound } from '../../frames/pictures/columns.ts';
import type { FrameTable } from '../../frames/table.ts';
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import type { FieldSeries } from '../../map/field-series.ts';
import { candidatesOf, fieldKey, placeOfCandidate, seriesOf, type Candidate } from '../../map/proposed-fields.ts';
import type { Need, Verdict } from './types.ts';

/** Fewer values than this are positions of a switch, not a range. */
const VALUES_LEAST = 16;
/** What is touched answers this much before what follows from it. */
const DIRECT_WITHIN_S = 0.15;
/** What is touched answers at least this share of the marks, and in time with them. */
const ANSWERED_LEAST = 0.7;
/** So many of the most direct fields are asked. */
const FIELDS_MOST = 3;
/** At the end stop a value stays within this share of its range, for so long, in so many presses. */
const END_WITHIN = 0.01;
const END_HELD_S = 0.5;
export const END_PRESSES = 3;
/** Presses whose furthest values lie this much of the range apart went unequally far. */
const DIFFERS_BY = 0.15;
/** Marks are late by a reaction at the start and at the end. */
const REACTION_S = 0.5;

export interface Reached {
  /** Coded value at rest, and furthest from it. */
  readonly rest: number;
  readonly furthest: number;
  /** Presses that stayed at the furthest value, of so many. */
  readonly held: number;
  readonly presses: number;
  /** Whether presses went unequally far: then somebody's foot or hand decided how far. */
  readonly differs: boolean;
}

export interface Press {
  readonly fromUs: number;
  readonly toUs: number;
}

/** Rows of a press. */
function rowsOf({ timeUs }: FieldSeries, { fromUs, toUs }: Press): readonly [number, number] {
  return [lowerBound(timeUs, fromUs), lowerBound(timeUs, toUs)];
}

/** Time within a press at which the value lay at the end, microseconds. */
function heldUs(series: FieldSeries, press: Press, isEnd: (value: number) => boolean): number {
  const [from, to] = rowsOf(series, press);
  let sum = 0;
  for (let row = from; row + 1 < to; row++)
    if (isEnd(series.value[row] as number)) sum += (series.timeUs[row + 1] as number) - (series.timeUs[row] as number);
  return sum;
}

/** @param sign of the answer: the way in which further lies */
export function reachedOf(series: FieldSeries, presses: readonly Press[], sign: number): Reached | null {
  const seen = presses.map((press) => {
    const [from, to] = rowsOf(series, press);
    return series.value.subarray(from, to);
  });
  const values = new Set(seen.flatMap((own) => [...own]));
  if (values.size < VALUES_LEAST) return null;
  const ordered = [...values].sort((a, b) => sign * (a - b));
  const [rest, furthest] = [ordered[0] as number, ordered.at(-1) as number];
  const within = Math.max(END_WITHIN * Math.abs(furthest - rest), 0.5);
  const isEnd = (value: number): boolean => Math.abs(value - furthest) <= within;
  const held = presses.filter((press) => heldUs(series, press, isEnd) >= END_HELD_S * MICROS_PER_SECOND).length;
  const tops = seen.filter(({ length }) => length > 0).map((own) => Math.max(...own.map((value) => sign * value)));
  const differs = Math.max(...tops) - Math.min(...tops) > DIFFERS_BY * Math.abs(furthest - rest);
  return { rest, furthest, held, presses: presses.length, differs };
}

/** The fields of what is touched: numbers that answer nearly each mark at one lag, as early as anything does. */
export function directLinks(links: readonly Link[]): Link[] {
  const sure = links.filter(({ q, direction, rather }) => q <= CLAIM_Q && direction === 'onset' && !rather);
  const steady = sure.filter(({ moves, inTime, n }) => Math.min(moves?.at ?? n, inTime ?? n) >= ANSWERED_LEAST * n);
  const first = steady.reduce((least, { lagS }) => Math.min(least, lagS), Infinity);
  return steady.filter(({ lagS }) => lagS <= first + DIRECT_WITHIN_S).sort((a, b) => a.lagS - b.lagS);
}

function needOf(action: string, { bus, id, extended, field }: Link, reached: readonly Reached[]): Need {
  const ended = reached.filter(({ held }) => held >= END_PRESSES);
  const isEnough = 2 * ended.length >= reached.length;
  const best = (isEnough ? ended[0] : reached[0]) as Reached;
  const most = `${id} ${field} went to ${best.furthest} (raw) at most`;
  const verdict: Verdict = isEnough ? 'enough' : best.differs ? 'short' : 'cannot-tell';
  const says: Readonly<Record<Verdict, string>> = {
    enough: `${id} ${field} came to rest at ${best.furthest} (raw) in ${best.held} of ${best.presses} presses: that is its end.`,
    short: `${most}, and stayed there in ${best.held} of ${best.presses} presses: its end was not reached, or not often.`,
    'cannot-tell': `${most}, about as far each time: nothing shows whether it goes further.`,
  };
  return {
    key: `range ${action}`,
    what: 'range',
    about: action,
    verdict,
    figures: { rest: best.rest, furthest: best.furthest, held: best.held, presses: best.presses },
    says: says[verdict],
    at: { bus, id, extended },
  };
}

/** An action's spans, marks late by a reaction allowed for. */
export const pressesOf = (marks: readonly Mark[], action: string): Press[] =>
  marks
    .filter((mark) => mark.action === action && mark.endS !== null)
    .map(({ startS, endS }) => ({
      fromUs: (startS - REACTION_S) * MICROS_PER_SECOND,
      toUs: ((endS as number) + REACTION_S) * MICROS_PER_SECOND,
    }));

/** Proposed fields by the key that links name them by. */
export const candidatesByKey = (
  table: FrameTable,
  findings: readonly FrameFindings[],
): ReadonlyMap<string, Candidate> =>
  new Map(candidatesOf(table, findings).map((each) => [fieldKey(placeOfCandidate(each)), each]));

/** @param marks on the capture's clock. Cost: a read of each frame of up to three fields an action. */
export function rangeNeeds(
  table: FrameTable,
  findings: readonly FrameFindings[],
  marks: readonly Mark[],
  links: LinkReport,
): readonly Need[] {
  const known = candidatesByKey(table, findings);
  return links.actions.flatMap(({ action, links: all }): Need[] => {
    const presses = pressesOf(marks, action);
    if (presses.length < END_PRESSES) return [];
    const asked = directLinks(all).flatMap((link) => {
      const candidate = known.get(fieldKey(link));
      const reached = candidate ? reachedOf(seriesOf(candidate), presses, Math.sign(link.effect) || 1) : null;
      return reached ? [{ link, reached }] : [];
    });
    const first = asked.slice(0, FIELDS_MOST);
    if (!first[0]) return [];
    return [
      needOf(
        action,
        first[0].link,
        first.map(({ reached }) => reached),
      ),
    ];
  });
}
