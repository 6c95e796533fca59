/**
 * Ties fields to actions by short captures named after one action each: a field answers where, in the captures of the action,
 * it stands elsewhere or moves farther than in all others. Captures, not moments, are the repetitions: p is counted over
 * other choices of as many captures, q is Benjamini-Hochberg over fields. Captures of one action made in one go also
 * differ by what drifts with time; where they are so, only how far a field moves is asked.
 */
import { checkpoint, type Control } from '../kit/control.ts';
import { createRandom, type Random } from '../kit/random.ts';
import { benjaminiHochberg } from '../kit/statistics/false-discovery.ts';
import { mean, quantile, robustSd } from '../kit/statistics/order.ts';
import {
  candidatesOf,
  placeOfCandidate,
  seriesOf,
  type Candidate,
  type ProposedFrame,
} from '../map/proposed-fields.ts';
import { CLAIM_Q } from './claims.ts';
import { unneededOffset } from './clock.ts';
import type { JoinedCaptures, Stretch } from './joined-captures.ts';
import { chooseCount, choicesOf, labelChance, rankScores, type Choices } from './label-permutations.ts';
import type { ActionLinks, Link, LinkReport } from './types.ts';

/** Deviation of rounding to whole raw units: no field is known better. */
const ROUNDING_SD = 1 / Math.sqrt(12);
const RESAMPLES = 400;

export interface ShortCapturesInput {
  readonly joined: JoinedCaptures;
  /** [captures] what was done, in the order in which they were recorded; null where nothing was. */
  readonly actions: readonly (string | null)[];
  readonly findings: readonly ProposedFrame[];
  readonly seed: number;
  /** Tests above q = 0.05 that are reported with each action. */
  readonly unsureShown?: number;
}

interface Behaviour {
  readonly candidate: Candidate;
  /** [captures] mean raw value, and greatest less least. */
  readonly level: readonly number[];
  readonly span: readonly number[];
}

function behaviourOf(candidate: Candidate, stretches: readonly Stretch[]): Behaviour | null {
  const { timeUs, value } = seriesOf(candidate);
  const level: number[] = [];
  const span: number[] = [];
  let row = 0;
  for (const { fromUs, toUs } of stretches) {
    while (row < timeUs.length && (timeUs[row] as number) < fromUs) row++;
    const from = row;
    while (row < timeUs.length && (timeUs[row] as number) <= toUs) row++;
    // A field that some capture lacks cannot be compared over all of them.
    if (row === from) return null;
    const own = value.subarray(from, row);
    const [least, greatest] = own.reduce(([a, b], v) => [Math.min(a, v), Math.max(b, v)], [Infinity, -Infinity]);
    level.push(mean(own));
    span.push((greatest as number) - (least as number));
  }
  return new Set([...level, ...span.map((v) => v + (level[0] as number))]).size > 1 ? { candidate, level, span } : null;
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
}

function test(behaviour: Behaviour, own: readonly number[], choices: Choices): Tested {
  const kinds = inOneGo(own) ? [behaviour.span] : [behaviour.level, behaviour.span];
  const scores = kinds.map((values) => rankScores(values, own.length));
  const { p, strongest } = labelChance(scores, own, choices);
  return { behaviour, values: kinds[strongest] as readonly number[], p };
}

const captures = (n: number): string => `${n} ${n === 1 ? 'capture' : 'captures'}`;

function wordsFor(own: readonly number[], total: number, tested: number, sure: number): string {
  const least = 1 / chooseCount(total, own.length);
  const parts = [`${captures(own.length)} named so against ${total - own.length} others`];
  if (inOneGo(own))
    parts.push('they were made in one go, so that only how far fields move was compared, not where they stand');
  if (sure === 0) {
    parts.push(`no field of ${tested} stands out`);
    if (least * tested > CLAIM_Q)
      parts.push(
        `a single field could not (p ${least.toPrecision(2)} at best): more captures of it, made between the others, would settle it`,
      );
  }
  return parts.join('; ');
}

function linksOfAction(
  action: string,
  input: ShortCapturesInput,
  behaviours: readonly Behaviour[],
  random: Random,
): ActionLinks {
  const { actions, unsureShown = 0 } = input;
  const own = actions.flatMap((name, i) => (name === action ? [i] : []));
  const choices = choicesOf(actions.length, own.length, random);
  const tested = behaviours.map((behaviour) => test(behaviour, own, choices));
  const q = benjaminiHochberg(tested.map(({ p }) => p));
  const links = tested.map(({ behaviour, values, p }, i): Link => ({
    ...placeOfCandidate(behaviour.candidate),
    ...effectOf(values, own, random),
    lagS: 0,
    p,
    q: q[i] as number,
    direction: 'level',
    n: own.length,
  }));
  links.sort((a, b) => a.p - b.p || Math.abs(b.effectSd) - Math.abs(a.effectSd));
  const sure = links.filter((link) => link.q <= CLAIM_Q);
  const unsure = links.filter((link) => link.q > CLAIM_Q).slice(0, unsureShown);
  return {
    action,
    marks: own.length,
    links: [...sure, ...unsure],
    tested: tested.length,
    words: wordsFor(own, actions.length, tested.length, sure.length),
  };
}

/** Which fields answer which action, by captures named after them. `marks` and `n` of the report count captures; lags are not known. */
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
  const words = 'captures named after their action need no clock; lags are not known and stand as 0';
  return { clockOffsetS: 0, clock: unneededOffset(words), actions: links };
}
