/**
 * What to do next on the bench, from the record alone: measure, run this trial, look at the wiring, or stop. It takes for granted that a set that works still
 * does with more frames sent.
 */
import type { SignalMap } from '../../map/schema.ts';
import type { Aim, SearchStep } from './search.ts';
import { nextInSearch } from './search.ts';
import { checklistState } from './checklist.ts';
import { CARRIED_FROM, countingTrials, type CountingTrials } from './counting.ts';
import { SUBSETS_MOST, trialBounds, type TrialBounds } from './bounds.ts';
import { nextNumber } from './record.ts';
import type { BenchRecord } from './record-schema.ts';
import type { BenchStep, PlainState, PlannedTrial } from './steps.ts';
import { isEverything, isNothing, judgeAll, type JudgedTrial } from './verdicts.ts';

/** Trials that failed in a row before everything is sent again, to see that no fault stays; and after the very first. */
const RUN_BEFORE_CONTROL = 4;
/** Everything failed so often, each time after twice the sleep. */
const CONTROLS_MOST = 6;
/** A set that is watched for so many times as long, for faults that come late. */
export const LONG_WATCH = 3;
/** Everything was sent so often without a clear answer. */
const UNCLEAR_MOST = 3;
const UNCLEAR_IN_A_ROW = 5;

/** Seconds from which on a set counts as watched for long: recordings are cut short by a little. */
export const longEnoughS = ({ settings }: BenchRecord): number => 0.8 * LONG_WATCH * settings.settleS;

/** Keys of a set as the candidates stand. */
export const inOrder = (record: BenchRecord, sent: ReadonlySet<string>): string[] =>
  record.candidates.map(({ key }) => key).filter((key) => sent.has(key));

interface Told {
  readonly record: BenchRecord;
  readonly judged: readonly JudgedTrial[];
  readonly counting: CountingTrials;
}

const everythingOf = ({ record, judged }: Told): readonly JudgedTrial[] =>
  judged.filter(({ trial }) => isEverything(record, trial));

/** How long to sleep before everything is sent again; null where no control is due, "stays" where no sleep helps. */
function controlDue(told: Told): { readonly sleepS: number } | 'stays' | null {
  const { length, withEverything } = told.counting.failedRun;
  const hasWorked = everythingOf(told).some(({ verdict }) => verdict === 'operational');
  if (!hasWorked || length === 0) return null;
  const clear = told.judged.filter(({ trial, verdict }) => trial.kind === 'set' && verdict !== 'unclear').length;
  if (withEverything === 0) {
    const isFirst = clear === 2 && length === 1;
    return isFirst || length >= RUN_BEFORE_CONTROL ? { sleepS: told.counting.sleepS } : null;
  }
  if (withEverything >= CONTROLS_MOST) return 'stays';
  return { sleepS: told.counting.sleepS * 2 ** Math.max(0, withEverything - CARRIED_FROM + 1) };
}

/** Each reason once, with the frames it holds for. */
function heldBackWords({ heldBack }: BenchRecord): string[] {
  if (heldBack.length === 0) return [];
  const byReason = new Map<string, string[]>();
  for (const { name, why } of heldBack) byReason.set(why, [...(byReason.get(why) ?? []), name]);
  const reasons = [...byReason].map(([why, names]) => `${names.join(', ')} (${why})`);
  return [`${heldBack.length} frames are held back and may be what it lacks: ${reasons.join('; ')}`];
}

/** Before somebody said so: afterwards the search goes on by itself. */
function disturbingWords(record: BenchRecord): string[] {
  if (record.wiringSure.length > 0 && checklistState(record).warns.length === 0) return [];
  return [
    `A frame may also disturb the part. Go over the wiring again and answer the whole checklist; if you are sure of it then, say so: sets that leave frames out are tried, in ${SUBSETS_MOST} trials at most.`,
  ];
}

function checklistFirst(told: Told, tried: number): BenchStep {
  const warns = checklistState(told.record).warns;
  const last = everythingOf(told).at(-1);
  return {
    kind: 'checklist-first',
    reasons: [
      `With everything sent the part did not work in ${tried} trials: more trials of frames would tell nothing. Most modules that stay silent or faulty lack a wire and not a frame.`,
      ...(last?.reasons ?? []),
      ...warns,
      ...heldBackWords(told.record),
      ...disturbingWords(told.record),
    ],
  };
}

/** Everything was sent and nothing clear came of it: what the part shows with nothing sent may help to judge. */
function unclearFirst(told: Told): BenchStep | null {
  const everything = everythingOf(told);
  if (everything.length < 2 || everything.some(({ verdict }) => verdict !== 'unclear')) return null;
  if (!told.judged.some(({ trial }) => isNothing(trial)))
    return trialOf(told, 'nothing', new Set(), told.counting.sleepS, []);
  return everything.length >= UNCLEAR_MOST ? checklistFirst(told, everything.length) : null;
}

/** Doubled again and again a sleep would last for days. */
const SLEEP_MOST_S = 3600;

function trialOf(
  told: Told,
  aim: Aim,
  sent: ReadonlySet<string>,
  longerS: number,
  known: readonly string[],
): BenchStep {
  const { record, counting } = told;
  const sleepS = Math.max(record.settings.sleepS, Math.min(SLEEP_MOST_S, longerS));
  const settleS = aim === 'enough' ? LONG_WATCH * counting.settleS : counting.settleS;
  const trial = { number: nextNumber(record), aim, sent: inOrder(record, sent), sleepS, settleS };
  return { kind: 'trial', trial, known, warns: checklistState(record).warns };
}

/** The set asked for was unclear so often, without another trial between. */
function unclearInARow({ judged }: Told, { sent }: PlannedTrial): readonly JudgedTrial[] {
  const isOther = ({ trial, verdict }: JudgedTrial): boolean =>
    verdict !== 'unclear' || trial.sent.length !== sent.length || !sent.every((key) => trial.sent.includes(key));
  return judged.slice(judged.findLastIndex(isOther) + 1);
}

function searched(told: Told): SearchStep {
  const { record, counting } = told;
  const { candidates } = record;
  return nextInSearch({ candidates, answers: counting.answers, longWatchS: longEnoughS(record) });
}

/** Everything failed from the start: a fault may have stayed from before the bench, so each further try sleeps longer. */
const LONGER_SLEEP = 3;

function sleepBefore(told: Told, aim: Aim): number {
  const { failedRun, sleepS } = told.counting;
  return aim === 'everything' ? sleepS * LONGER_SLEEP ** failedRun.withEverything : sleepS;
}

function stepOf(told: Told, bounds: TrialBounds): BenchStep {
  const { record } = told;
  const { forbids, warns } = checklistState(record);
  if (forbids.length > 0) return { kind: 'measure', forbids, warns };
  if (record.candidates.length === 0) {
    const reasons = [
      'No frame may be sent: release frames by name, or record what they carry at rest.',
      ...heldBackWords(record),
    ];
    return { kind: 'nothing-to-try', reasons };
  }
  const step = searched(told);
  if (step.kind === 'found') return step;
  if (record.trials.length >= bounds.mostTrials)
    return { kind: 'bound-reached', known: step.kind === 'ask' ? step.known : [] };
  const all = new Set(record.candidates.map(({ key }) => key));
  const control = controlDue(told);
  if (control === 'stays')
    return { kind: 'fault-stays', sleptS: Math.max(...record.trials.map(({ sleepS }) => sleepS)) };
  if (control) return trialOf(told, 'control', all, control.sleepS, step.kind === 'ask' ? step.known : []);
  const first = unclearFirst(told);
  if (first) return first;
  if (step.kind === 'nothing-works') return checklistFirst(told, step.tried);
  return trialOf(told, step.aim, step.sent, sleepBefore(told, step.aim), step.known);
}

export function plainState(map: Pick<SignalMap, 'frames'>, record: BenchRecord): PlainState {
  const judged = judgeAll(map, record);
  const counting = countingTrials(record, judged);
  const bounds = trialBounds(record.candidates);
  const told = { record, counting, judged: judged.filter(({ trial }) => trial.setAside === '') };
  const step = stepOf(told, bounds);
  const unclear = step.kind === 'trial' ? unclearInARow(told, step.trial) : [];
  if (step.kind !== 'trial' || unclear.length < UNCLEAR_IN_A_ROW) return { step, judged, counting, bounds };
  const reasons = [...new Set(unclear.flatMap((each) => each.reasons))];
  return { step: { kind: 'cannot-tell', trial: step.trial, reasons }, judged, counting, bounds };
}
