/** Whether counters go on as their rules say, frames lost by the log and modules that start anew told from breaks. */
import type { Stream } from '../../frames/table.ts';
import { checkContinuity, compileStepsBetween, counterModulus, type CounterContinuity } from '../../map/counter.ts';
import type { CompiledFrame, CompiledGuard } from '../../map/decode.ts';
import { valuesOnPage } from '../../map/page-values.ts';
import type { MapCounter } from '../../map/schema.ts';
import type { SurveyFrame } from '../../timing/types.ts';
import { momentsOf } from './moments.ts';
import type { Silences } from './silences.ts';
import * as limit from './thresholds.ts';
import type { ProofItem, ProofVerdict } from './types.ts';

/** The usual interval tells lost frames from jumps; pages have none of their own. */
export const periodUsOf = (counter: Pick<MapCounter, 'when'>, surveyed: SurveyFrame): number | null =>
  counter.when === null && ['periodic', 'mixed'].includes(surveyed.timing.kind)
    ? (surveyed.timing.periodMs ?? 0) * 1000 || null
    : null;

/**
 * A value of its range that a small counter passed over at each turn, more often than the log can have lost just that one each time; null where there
 * is none or it cannot be told. lost: frames that the steps say are missing.
 */
function neverSeen(rule: MapCounter, raws: Float64Array, turn: number, lost: number): number | null {
  const modulus = counterModulus(rule);
  const sent = raws.length + lost;
  const turns = sent / turn;
  if (modulus > limit.TURN_EXPECTED_UP_TO || turns < limit.TURNS_SHOW_ALL) return null;
  if (modulus * (lost / sent) ** turns > limit.LUCK || compileStepsBetween(rule).cycle < modulus) return null;
  const seen = new Set(raws);
  for (let value = rule.min; value <= rule.max; value++) if (!seen.has(value)) return value;
  return null;
}

/** One break may be a module that started anew; a wrong rule breaks at each turn. */
function counterVerdict(
  { continued, outOfRange, pairs }: Pick<CounterContinuity, 'continued' | 'outOfRange' | 'pairs'>,
  turned: boolean,
): ProofVerdict {
  if (pairs < limit.PAIRS_NEEDED) return 'not-exercised';
  const broken = pairs - continued;
  if ((broken > 1 && broken > (1 - limit.COUNTER_HOLDS) * pairs) || outOfRange > 0.001 * pairs) return 'fails';
  return turned ? 'holds' : 'not-exercised';
}

/** Whether nearly all breaks lead from one value to one other, again and again: so does a rule that turns elsewhere. */
function breaksAlike(breaks: readonly number[], raws: Float64Array): boolean {
  const times = new Map<string, number>();
  for (const at of breaks) {
    const step = `${raws[at - 1]} ${raws[at]}`;
    times.set(step, (times.get(step) ?? 0) + 1);
  }
  const most = Math.max(0, ...times.values());
  return most >= limit.BREAKS_ALIKE && most >= limit.BREAKS_ALIKE_SHARE * breaks.length;
}

/** Breaks behind a silence that others share, or after which the counter begins anew: no step of the rule is seen there. */
function startsAnew({ rule, raws, timeUs, periodUs, stream, silences }: Steps, at: number): boolean {
  const [fromUs, toUs] = [timeUs[at - 1] as number, timeUs[at] as number];
  if (periodUs === null || toUs - fromUs <= limit.SILENT_PERIODS * periodUs) return false;
  return raws[at] === rule.min || silences.sharedBy(stream, fromUs, toUs);
}

interface Steps {
  readonly rule: MapCounter;
  readonly raws: Float64Array;
  readonly timeUs: Float64Array;
  readonly periodUs: number | null;
  readonly stream: Stream;
  readonly silences: Silences;
}

function proveCounter(
  guard: CompiledGuard<MapCounter>,
  stream: Stream,
  surveyed: SurveyFrame,
  silences: Silences,
): ProofItem {
  const { rule } = guard;
  const { rows, raws, timeUs } = valuesOnPage(guard, stream);
  const periodUs = periodUsOf(rule, surveyed);
  const all = checkContinuity(rule, raws, { timeUs, periodUs });
  const steps: Steps = { rule, raws, timeUs, periodUs, stream, silences };
  const breaks = all.breaks.filter((at) => !startsAnew(steps, at));
  const anew = all.breaks.length - breaks.length;
  const result = { ...all, breaks, pairs: all.pairs - anew };
  const turn = counterModulus(rule) <= 65_536 ? compileStepsBetween(rule).cycle * rule.every : Infinity;
  const small = counterModulus(rule) <= limit.TURN_EXPECTED_UP_TO;
  const turned = !small || result.pairs >= 2 * turn;
  const rate = result.pairs > 0 ? result.continued / result.pairs : null;
  const missing = neverSeen(rule, raws, turn, result.lost);
  const judged = counterVerdict(result, turned);
  const isElsewhere = missing !== null || breaksAlike(breaks, raws);
  const verdict = isElsewhere && judged === 'holds' ? 'fails' : judged;
  const notes = [
    `${result.continued} of ${result.pairs} steps go on`,
    result.lost > 0 && `${result.lost} frames lost by the log`,
    breaks.length > 0 && `${result.repeated} repeated, ${result.jumped} jumped`,
    anew > 0 && `${anew} began anew behind a silence`,
    result.outOfRange > 0 && `${result.outOfRange} outside ${rule.min}..${rule.max}`,
    missing !== null && `${missing} never came in ${Math.floor(raws.length / turn)} turns`,
    result.pairs < 2 * turn && 'its turnover was not seen twice',
  ];
  return {
    item: 'counter',
    name: rule.name,
    verdict,
    rate,
    n: result.pairs,
    detail: notes.filter(Boolean).join(', '),
    moments: momentsOf(
      stream,
      result.breaks.map((i) => rows[i] as number),
    ),
  };
}

export const proveCounters = (
  compiled: CompiledFrame,
  stream: Stream,
  surveyed: SurveyFrame,
  silences: Silences,
): ProofItem[] => compiled.counters.map((counter) => proveCounter(counter, stream, surveyed, silences));
