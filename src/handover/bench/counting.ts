/**
 * Which trials count. Three things make an answer that is not one: it is unclear; a fault stayed from the trial before (the sleep was too short), seen
 * when everything sent fails too behind trials that failed, and works again after a longer sleep; or it was watched for less than the faults
 * of other trials took to come.
 */
import type { Answer } from './answers.ts';
import type { BenchRecord } from './record-schema.ts';
import { answerOf, isEverything, watchedS, type JudgedTrial } from './verdicts.ts';

export interface CountingTrials {
  readonly answers: readonly Answer[];
  /** Trials that do not count, with the reason for a person. */
  readonly leftOut: readonly { readonly trial: number; readonly why: string }[];
  /** How the next trial is timed. */
  readonly sleepS: number;
  readonly settleS: number;
  /** Trials that failed at the end of the record, one behind the other, and how many of them sent everything. */
  readonly failedRun: { readonly length: number; readonly withEverything: number };
}

/** A fault that came so late asks for so much longer. */
const SETTLE_OF_ONSET = 1.5;
const WATCHED_OF_ONSET = 1.2;
/** Everything failed so often in a row before a fault that stays is thought of: once may be chance. */
export const CARRIED_FROM = 2;

const works = ({ verdict }: JudgedTrial): boolean => verdict === 'operational';

interface Carried {
  readonly trials: ReadonlySet<number>;
  readonly sleepS: number;
}

/** Trials that show a fault of the one before, and the sleep that clears it. */
function carriedOver(record: BenchRecord, trials: readonly JudgedTrial[]): Carried {
  const carried = new Set<number>();
  let { sleepS } = record.settings;
  let run: JudgedTrial[] = [];
  for (const each of trials) {
    if (!works(each)) {
      run.push(each);
      continue;
    }
    const controls = run.filter(({ trial }) => isEverything(record, trial));
    const slept = each.trial.sleepS;
    const longer = run.every(({ trial }) => trial.sleepS < slept);
    if (isEverything(record, each.trial) && controls.length >= CARRIED_FROM && longer) {
      run.slice(1).forEach(({ trial }) => carried.add(trial.number));
      sleepS = Math.max(sleepS, slept);
    }
    run = [];
  }
  return { trials: carried, sleepS };
}

/** The second latest onset: a single one may be chance. */
function usualLatest(onsets: readonly number[]): number {
  return onsets.toSorted((a, b) => b - a)[1] ?? 0;
}

/** The trials that failed at the end, one behind the other; with what was carried over. */
function failedRunOf(record: BenchRecord, trials: readonly JudgedTrial[]): CountingTrials['failedRun'] {
  const lastWorking = trials.findLastIndex(works);
  const run = trials.slice(lastWorking + 1);
  return { length: run.length, withEverything: run.filter(({ trial }) => isEverything(record, trial)).length };
}

export function countingTrials(record: BenchRecord, judged: readonly JudgedTrial[]): CountingTrials {
  const leftOut: { trial: number; why: string }[] = [];
  const keep = (trials: readonly JudgedTrial[], why: (each: JudgedTrial) => string | null): JudgedTrial[] =>
    trials.filter((each) => {
      const reason = why(each);
      if (reason !== null) leftOut.push({ trial: each.trial.number, why: reason });
      return reason === null;
    });
  const sets = keep(
    judged.filter(({ trial }) => trial.kind === 'set'),
    ({ trial, verdict, reasons }) =>
      trial.setAside || (verdict === 'unclear' ? `unclear: ${reasons[0] ?? 'no reason told'}` : null),
  );
  const { trials: carried, sleepS } = carriedOver(record, sets);
  const fresh = keep(sets, ({ trial }) =>
    carried.has(trial.number) ? `a fault stayed from the trial before: it clears after a sleep of ${sleepS} s` : null,
  );
  // Of sets alone: where a frame falls silent under way, power-up says nothing of the fault.
  const tried = judged.filter(({ trial }) => trial.kind === 'set' && !trial.setAside && !carried.has(trial.number));
  const onsets = tried.flatMap(({ onsetS }) => (onsetS === null ? [] : [onsetS]));
  const latest = usualLatest(onsets);
  const counting = keep(fresh, (each) =>
    works(each) && watchedS(each.trial) < WATCHED_OF_ONSET * latest
      ? `watched for ${watchedS(each.trial).toFixed(1)} s, and faults were seen to come after ${latest.toFixed(1)} s`
      : null,
  );
  return {
    answers: counting.map(answerOf),
    leftOut: leftOut.sort((a, b) => a.trial - b.trial),
    sleepS,
    settleS: Math.max(record.settings.settleS, Math.ceil(SETTLE_OF_ONSET * Math.max(latest, ...onsets, 0))),
    failedRun: failedRunOf(record, sets),
  };
}
