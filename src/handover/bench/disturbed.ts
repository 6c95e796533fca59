/**
 * The bench where everything sent does not make the part work and somebody is sure of the wiring: a frame may disturb the part, such as a report of a crash or
 * of charging. First a set is looked for that works, in a bounded number of trials; then the search goes on within it, where what disturbs is
 * not sent at all. That no frame of that set disturbs is the assumption that is left.
 */
import type { SignalMap } from '../../map/schema.ts';
import type { Answer } from './answers.ts';
import { SUBSETS_MOST, trialBounds, type TrialBounds } from './bounds.ts';
import { checklistState } from './checklist.ts';
import { countingTrials } from './counting.ts';
import { inOrder, LONG_WATCH, longEnoughS, plainState } from './plain-step.ts';
import { nextNumber } from './record.ts';
import type { BenchRecord } from './record-schema.ts';
import type { BenchState, BenchStep, PlainState } from './steps.ts';
import { answerOf, isEverything, isNothing, judgeAll, watchedS, type JudgedTrial } from './verdicts.ts';
import { workingSubset } from './working-subset.ts';

/** Any fault may stay, and none is known yet that clears: so much longer than a trial usually sleeps. */
const SLEEP_LONGER = 9;
/** Everything failed so often more than it worked: what worked did by chance. */
const FAILED_BY = 4;
const UNCLEAR_IN_A_ROW = 5;

/** The record up to the first set that left frames out. */
function beforeSets(record: BenchRecord): BenchRecord {
  const first = record.trials.findIndex(({ aim }) => aim === 'subset');
  return first < 0 ? record : { ...record, trials: record.trials.slice(0, first) };
}

function nothingWorks(record: BenchRecord, { step, judged }: PlainState): boolean {
  if (step.kind === 'checklist-first') return true;
  const clear = judged.filter(({ trial, verdict }) => isEverything(record, trial) && verdict !== 'unclear');
  const failed = clear.reduce((sum, { verdict }) => sum + (verdict === 'operational' ? -1 : 1), 0);
  return step.kind === 'fault-stays' && failed >= FAILED_BY;
}

const isSubset = ({ trial }: JudgedTrial): boolean => trial.aim === 'subset' && trial.setAside === '';

/** Of sets that slept long enough, and of everything before. What is unclear counts where the part surely did not show what it shows when it works. */
function answersOf(before: BenchRecord, judged: readonly JudgedTrial[]): Answer[] {
  const early = new Set(before.trials.map(({ number }) => number));
  const counts = (each: JudgedTrial): boolean => {
    const { trial, verdict, differs } = each;
    const isMeant = trial.kind === 'set' && trial.setAside === '' && (isSubset(each) || early.has(trial.number));
    return isMeant && (verdict !== 'unclear' || differs);
  };
  return judged.filter(counts).map(answerOf);
}

function ended({ step }: PlainState, tried: number): BenchStep {
  const reasons = step.kind === 'checklist-first' ? step.reasons : [];
  const says = `Nor did it work in ${tried} trials of sets that leave frames out. It needs many of the frames and several disturb it, or it lacks what no frame of these gives: a wire, or a frame that is held back.`;
  return { kind: 'checklist-first', reasons: [says, ...reasons] };
}

/** The next set, or nothing at all where that was never tried: what the part shows then helps to judge the others. */
function asked(record: BenchRecord, judged: readonly JudgedTrial[], sent: ReadonlySet<string>): BenchStep {
  const isBare = judged.some(({ trial }) => isNothing(trial) && trial.setAside === '');
  const { settleS } = countingTrials(record, judged);
  const trial = {
    number: nextNumber(record),
    aim: isBare ? ('subset' as const) : ('nothing' as const),
    sent: isBare ? inOrder(record, sent) : [],
    sleepS: SLEEP_LONGER * record.settings.sleepS,
    settleS,
  };
  const last = judged.slice(-UNCLEAR_IN_A_ROW);
  if (last.length === UNCLEAR_IN_A_ROW && last.every(({ verdict, differs }) => verdict === 'unclear' && !differs))
    return { kind: 'cannot-tell', trial, reasons: [...new Set(last.flatMap(({ reasons }) => reasons))] };
  return { kind: 'trial', trial, known: [], warns: [] };
}

/** As if the frames left out did not exist. */
function narrowed(record: BenchRecord, set: ReadonlySet<string>): BenchRecord {
  const isWithin = ({ kind, sent }: BenchRecord['trials'][number]): boolean =>
    kind !== 'set' || sent.every((key) => set.has(key));
  return {
    ...record,
    candidates: record.candidates.filter(({ key }) => set.has(key)),
    trials: record.trials.filter(isWithin),
  };
}

function boundsWith({ bounds }: PlainState, spent: number, { mostIfDisturbed }: TrialBounds): TrialBounds {
  return {
    ...bounds,
    expectedByNeeded: bounds.expectedByNeeded.map((trials) => trials + spent),
    expectedTrials: bounds.expectedTrials + spent,
    mostTrials: Math.min(bounds.mostTrials + spent, mostIfDisturbed),
    mostIfDisturbed,
  };
}

/** With nothing sent it works, and was watched for long: no frame is needed. */
function bareStep(record: BenchRecord, judged: readonly JudgedTrial[], settleS: number): BenchStep {
  const isWatched = judged.some(
    ({ trial, verdict }) => isNothing(trial) && verdict === 'operational' && watchedS(trial) >= longEnoughS(record),
  );
  if (isWatched) return { kind: 'found', needed: [], replaceable: [] };
  const longer = { sleepS: record.settings.sleepS, settleS: LONG_WATCH * settleS };
  const trial = { number: nextNumber(record), aim: 'enough' as const, sent: [], ...longer };
  return { kind: 'trial', trial, known: [], warns: [] };
}

function within(map: Pick<SignalMap, 'frames'>, record: BenchRecord, set: ReadonlySet<string>): BenchState {
  const inSet = narrowed(record, set);
  const plain = plainState(map, inSet);
  const { counting } = plain;
  const step = set.size > 0 ? plain.step : bareStep(record, plain.judged, counting.settleS);
  const kept = new Set(inSet.trials.map(({ number }) => number));
  const others = record.trials.filter(({ number }) => !kept.has(number));
  const leftOut = others.map(({ number }) => ({
    trial: number,
    why: 'it sent frames that are left out since a set was found that works',
  }));
  const bounds = boundsWith(plain, others.length, trialBounds(record.candidates));
  const isOver = step.kind === 'trial' && record.trials.length >= bounds.mostTrials;
  const numbered = step.kind === 'trial' ? { ...step, trial: { ...step.trial, number: nextNumber(record) } } : step;
  return {
    step: isOver ? { kind: 'bound-reached', known: step.known } : numbered,
    judged: judgeAll(map, record, inSet),
    counting: { ...counting, leftOut: [...counting.leftOut, ...leftOut].sort((a, b) => a.trial - b.trial) },
    bounds,
    setOut: record.candidates.map(({ key }) => key).filter((key) => !set.has(key)),
  };
}

/** Null where everything sent makes it work, or nobody is sure of the wiring. */
export function disturbedState(map: Pick<SignalMap, 'frames'>, record: BenchRecord): BenchState | null {
  const { forbids, warns } = checklistState(record);
  if (record.wiringSure.length === 0 || forbids.length + warns.length > 0) return null;
  const before = beforeSets(record);
  const plain = plainState(map, before);
  if (!nothingWorks(record, plain)) return null;
  const judged = judgeAll(map, record);
  const subset = workingSubset(record.candidates, answersOf(before, judged));
  if (subset.kind === 'works') return within(map, record, subset.set);
  const bounds = trialBounds(record.candidates);
  const tried = judged.filter(isSubset).length;
  const isOver = tried >= SUBSETS_MOST || record.trials.length >= bounds.mostIfDisturbed;
  return {
    step: isOver ? ended(plain, tried) : asked(record, judged, subset.sent),
    judged,
    counting: countingTrials(record, judged),
    bounds: { ...bounds, mostTrials: bounds.mostIfDisturbed },
    setOut: [],
  };
}
