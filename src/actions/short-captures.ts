/**
 * Ties fields to actions by short captures named after one action each: a field answers where, in the captures of the action,
 * it stands elsewhere or moves farther than in all others. Captures, not moments, are the repetitions: p is counted over
 * other choices of as many captures and all fields, q is Benjamini-Hochberg with copies counted once. Captures of one action made in one go also
 * differ by what drifts with time; where they are so, only how far a field moves is asked.
 */
import { checkpoint, type Control } from '../kit/control.ts';
import { createRandom, type Random } from '../kit/random.ts';
import { pearson } from '../kit/statistics/correlation.ts';
import { clusteredQValues } from '../kit/statistics/false-discovery.ts';
import { mean, median, quantile, robustSd } from '../kit/statistics/order.ts';
import { candidatesOf, placeOfCandidate, type ProposedFrame } from '../map/proposed-fields.ts';
import { behaviourOf, floorOf, ROUNDING_SD, type Behaviour } from './behaviours.ts';
import { CLAIM_Q } from './claims.ts';
import { changeTimes } from './change-time.ts';
import { unneededOffset } from './offset-finding.ts';
import { departures } from './first-changes.ts';
import type { JoinedCaptures, Stretch } from './joined-captures.ts';
import { choicesOf, labelChances, type BehaviourOver } from './label-permutations.ts';
import { answeringSeries } from './pace.ts';
import { rankClaims, type TimedLink } from './ranking.ts';
import { densest, keptLags, usualIntervalS } from './reaction.ts';
import type { ActionLinks, Link, LinkReport } from './types.ts';

const RESAMPLES = 400;
/** Captures of one action with which a responder is usually found. */
const ENOUGH = 3;
/** Where and how wide a field's change is looked for around the leader's, which may itself come late: a speed behind a pedal. */
const ROUND_LEADER = { widthS: 0.4, earliestS: -2, latestS: 0.9 };

export interface ShortCapturesInput {
  readonly joined: JoinedCaptures;
  /** [captures] what was done, in the order in which they were recorded; null where nothing was. */
  readonly actions: readonly (string | null)[];
  readonly findings: readonly ProposedFrame[];
  readonly seed: number;
  /** Tests above q = 0.05 that are reported with each action. */
  readonly unsureShown?: number;
}

const at = (values: readonly number[], places: readonly number[]): number[] => places.map((i) => values[i] as number);
const inOneGo = (own: readonly number[]): boolean =>
  own.length > 1 && (own[own.length - 1] as number) - (own[0] as number) === own.length - 1;

const spreadOf = (values: readonly number[]): number => Math.max(robustSd(values), ROUNDING_SD);

function effectOf(values: readonly number[], own: readonly number[], random: Random) {
  const inside = at(values, own);
  const outside = values.filter((_, i) => !own.includes(i));
  const draw = (from: readonly number[]): number => mean(from.map(() => random.pick(from)));
  const drawn = Array.from({ length: RESAMPLES }, () => draw(inside) - draw(outside));
  const effect = mean(inside) - mean(outside);
  return {
    effect,
    effectSd: effect / spreadOf(outside),
    effectInterval: [quantile(drawn, 0.025), quantile(drawn, 0.975)] as const,
  };
}

interface Tested {
  readonly behaviour: Behaviour;
  readonly values: readonly number[];
  readonly p: number;
  readonly q: number;
  readonly nats: number;
}

const SAME_BEHAVIOUR = 0.9;

/** Cluster numbers of fields that behave alike over the captures, so that copies count as one discovery. */
function clustersOf(claimed: readonly Behaviour[]): number[] {
  const cluster: number[] = [];
  claimed.forEach(({ level, span }, i) => {
    const like = claimed
      .slice(0, i)
      .findIndex((other) => pearson([...level, ...span], [...other.level, ...other.span]) >= SAME_BEHAVIOUR);
    cluster.push(like < 0 ? i : (cluster[like] as number));
  });
  return cluster;
}

/** All fields with p and q, those that stand apart most first. */
function testAll(
  behaviours: readonly Behaviour[],
  own: readonly number[],
  choices: readonly (readonly number[])[],
): Tested[] {
  const kindsOf = ({ level, span }: Behaviour) => (inOneGo(own) ? [span] : [level, span]);
  const over = (behaviour: Behaviour): BehaviourOver[] =>
    kindsOf(behaviour).map((values) => ({ values, floor: floorOf(behaviour) }));
  const chances = labelChances(behaviours.map(over), own, choices);
  const tested = behaviours
    .map((behaviour, i) => ({ behaviour, ...(chances[i] as (typeof chances)[number]) }))
    .sort((a, b) => a.p - b.p || b.nats - a.nats);
  const claimed = tested.filter(({ p }) => p <= CLAIM_Q).map(({ behaviour }) => behaviour);
  const clusters = clustersOf(claimed);
  const q = clusteredQValues(
    tested.map(({ p }) => p),
    tested.map((_, i) => clusters[i] ?? tested.length + i),
    tested.length,
  );
  return tested.map(({ behaviour, strongest, p, nats }, i) => ({
    ...{ behaviour, p, nats },
    values: kindsOf(behaviour)[strongest] as readonly number[],
    q: q[i] as number,
  }));
}

const captures = (n: number): string => `${n} ${n === 1 ? 'capture' : 'captures'}`;

function wordsFor(own: readonly number[], total: number, tested: number, sure: number): string {
  const parts = [`${captures(own.length)} named so against ${total - own.length} others`];
  if (inOneGo(own))
    parts.push('they were made in one go, so that only how far fields move was compared, not where they stand');
  if (sure === 0) {
    parts.push(`no field of ${tested} stands out`);
    if (own.length < ENOUGH) parts.push('more captures of it, made between the others, would settle it');
  }
  return parts.join('; ');
}

/** Sure links in the order in which they answer, lags against the first of them. */
function inOrder(links: readonly Link[], tested: readonly Tested[], stretches: readonly Stretch[]): Link[] {
  const [leader] = tested;
  if (!leader) return [];
  const atS = departures(answeringSeries(leader.behaviour.candidate), stretches);
  const timed = links.map((link, i): TimedLink => {
    const { candidate } = (tested[i] as Tested).behaviour;
    const series = answeringSeries(candidate);
    const intervalS = usualIntervalS(series.timeUs);
    const isNumber = candidate.field.kind === 'number';
    const { lagS } = changeTimes(series, atS, { ...ROUND_LEADER, intervalS, isNumber });
    const inTime = densest([...lagS].filter((lag) => !Number.isNaN(lag)));
    const seen = inTime.length > 0 ? median(inTime) : 0;
    return { link: { ...link, lagS: seen, inTime: inTime.length }, lags: keptLags(lagS, inTime), intervalS, isNumber };
  });
  const firstS = Math.min(...timed.map(({ link }) => link.lagS));
  const from = (link: Link): Link => ({ ...link, lagS: Math.round((link.lagS - firstS) * 1000) / 1000 });
  return rankClaims(timed.map((each) => ({ ...each, link: from(each.link) })));
}

function linksOfAction(
  action: string,
  input: ShortCapturesInput,
  behaviours: readonly Behaviour[],
  random: Random,
): ActionLinks {
  const { actions, joined, unsureShown = 0 } = input;
  const own = actions.flatMap((name, i) => (name === action ? [i] : []));
  const tested = testAll(behaviours, own, choicesOf(actions, own.length, random));
  const links = tested.map(({ behaviour, values, p, q, nats }): Link => ({
    ...placeOfCandidate(behaviour.candidate),
    ...effectOf(values, own, random),
    ...{ lagS: 0, p, q, surprise: nats, direction: 'level', n: own.length },
  }));
  const sure = tested.findIndex(({ q }) => q > CLAIM_Q);
  const count = sure < 0 ? tested.length : sure;
  const stretches = own.map((at) => joined.stretches[at] as Stretch);
  return {
    action,
    marks: own.length,
    links: [...inOrder(links.slice(0, count), tested, stretches), ...links.slice(count, count + unsureShown)],
    tested: tested.length,
    words: wordsFor(own, actions.length, tested.length, count),
  };
}

/** Which fields answer which action, by captures named after them. `marks` and `n` of the report count captures; lags count from the first answer. */
export async function linkShortCaptures(input: ShortCapturesInput, control: Control): Promise<LinkReport> {
  const candidates = candidatesOf(input.joined.table, input.findings);
  const behaviours: Behaviour[] = [];
  for (const [i, candidate] of candidates.entries()) {
    await checkpoint(control, (0.3 * i) / candidates.length, `behaviour of ${candidate.frame.id}`);
    const behaviour = behaviourOf(candidate, input.joined.stretches);
    if (behaviour) behaviours.push(behaviour);
  }
  const names = [...new Set(input.actions.filter((name) => name !== null))];
  const links: ActionLinks[] = [];
  for (const [i, action] of names.entries()) {
    await checkpoint(control, 0.3 + (0.7 * i) / names.length, `captures of ${action}`);
    links.push(linksOfAction(action, input, behaviours, createRandom(input.seed).fork(action)));
  }
  const words =
    'captures named after their action need no clock; lags count from the first answer, since nobody marked the hand';
  return { clockOffsetS: 0, clock: unneededOffset(words), actions: links };
}
