/**
 * Who comes when after a waking, in two captures. Modules wake by different lines and start at different speeds, and a first frame
 * is early or late by up to a period: a change counts only beyond what the capture's own wakings scatter by.
 */
import { median, robustSd } from '../../kit/statistics/order.ts';
import type { Pair, Pairing } from './pairing.ts';
import { frameOf } from './pairing.ts';
import type { ComparisonProfile, IdentifierProfile } from './profile-types.ts';
import type { AppearanceChange, AppearanceCompared } from './types.ts';

/** Standard errors, and milliseconds, beyond which an identifier comes "much" earlier or later. */
const FAR_SE = 3;
const FAR_MS = 100;
/** A start differs from waking to waking even of one module: no less than this is assumed, ms. */
const START_SD_MS = 15;
/** What only comes on an event has no time of its own after a waking. */
const LATEST_S = 30;

interface Arrival {
  readonly pair: Pair;
  readonly delayMsA: number;
  readonly delayMsB: number;
  readonly laterMs: number;
  readonly seMs: number;
}

/** The first waking of its bus that was seen and that the identifier took part in. */
function arrivals(profile: ComparisonProfile, identifier: IdentifierProfile): number[] {
  const wakings = profile.buses.find(({ name }) => name === identifier.bus)?.wakings ?? [];
  return identifier.appearances
    .filter(({ waking, delayS }) => wakings[waking]?.seen && delayS <= LATEST_S)
    .map(({ delayS }) => 1000 * delayS);
}

/** A first frame lies anywhere within a period: a uniform spread of that width, and what its starts scatter by. */
function spreadMs(identifier: IdentifierProfile, delays: readonly number[]): number {
  const within = (identifier.timing.periodMs ?? 0) / Math.sqrt(12);
  const scatter = delays.length >= 3 ? robustSd(delays) : 0;
  return Math.hypot(within, Math.max(START_SD_MS, scatter));
}

function arrivalOf(a: ComparisonProfile, b: ComparisonProfile, pair: Pair): Arrival[] {
  if (pair.a.timing.periodMs === null || pair.b.timing.periodMs === null) return [];
  const [own, other] = [arrivals(a, pair.a), arrivals(b, pair.b)];
  if (own.length === 0 || other.length === 0) return [];
  const [delayMsA, delayMsB] = [median(own), other[0] as number];
  const seMs = Math.hypot(spreadMs(pair.a, own), spreadMs(pair.b, other));
  return [{ pair, delayMsA, delayMsB, laterMs: delayMsB - delayMsA, seMs }];
}

function ranks(arrived: readonly Arrival[], of: (arrival: Arrival) => number): Map<Arrival, number> {
  return new Map([...arrived].sort((x, y) => of(x) - of(y)).map((arrival, place) => [arrival, place + 1]));
}

/** What the identifiers of one bus shift by together: another way to wake it. */
function changesOn(arrived: readonly Arrival[]): AppearanceChange[] {
  const shift = median(arrived.map(({ laterMs }) => laterMs));
  const [rankA, rankB] = [ranks(arrived, ({ delayMsA }) => delayMsA), ranks(arrived, ({ delayMsB }) => delayMsB)];
  return arrived.flatMap((arrival) => {
    const laterMs = arrival.laterMs - shift;
    if (Math.abs(laterMs) <= Math.max(FAR_MS, FAR_SE * arrival.seMs)) return [];
    return {
      ...frameOf(arrival.pair.a),
      delayMsA: Math.round(arrival.delayMsA),
      delayMsB: Math.round(arrival.delayMsB),
      laterMs: Math.round(laterMs),
      laterSeMs: Math.round(arrival.seMs),
      rankA: rankA.get(arrival) as number,
      rankB: rankB.get(arrival) as number,
    };
  });
}

const seenIn = (profile: ComparisonProfile): boolean =>
  profile.buses.some(({ wakings }) => wakings.some(({ seen }) => seen));

export function compareAppearance(a: ComparisonProfile, b: ComparisonProfile, { pairs }: Pairing): AppearanceCompared {
  if (!seenIn(a) || !seenIn(b)) {
    const which = seenIn(a) ? 'the second capture' : seenIn(b) ? 'the first capture' : 'either capture';
    return { compared: 0, changed: [], why: `not compared: no waking was seen in ${which}` };
  }
  const byBus = new Map<string, Arrival[]>();
  for (const pair of pairs) {
    for (const arrival of arrivalOf(a, b, pair)) byBus.set(pair.a.bus, [...(byBus.get(pair.a.bus) ?? []), arrival]);
  }
  const compared = [...byBus.values()].reduce((sum, { length }) => sum + length, 0);
  const changed = [...byBus.values()].flatMap(changesOn).sort((x, y) => Math.abs(y.laterMs) - Math.abs(x.laterMs));
  const why =
    compared === 0
      ? 'not compared: no identifier was seen to come after a waking in both'
      : `${compared} identifiers come after a waking in both; ${changed.length} of them earlier or later by more than ${FAR_SE} standard errors and ${FAR_MS} ms than the others on their bus`;
  return { compared, changed, why };
}
