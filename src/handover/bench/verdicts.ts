/**
 * Every trial of a record judged, in two passes: first those with everything and with nothing sent, by the vehicle alone; then all of them, by what
 * those showed. A trial is judged anew whenever the record is read, so that what later trials teach counts for the earlier ones too.
 */
import type { SignalMap } from '../../map/schema.ts';
import type { Answer } from './answers.ts';
import { judgeTrial, type Judgement } from './judge.ts';
import { judgedBy, type JudgedBy } from './judged-by.ts';
import type { BenchRecord, BenchTrial, TrialObservation } from './record-schema.ts';

export interface JudgedTrial extends Judgement {
  readonly trial: BenchTrial;
  readonly judgedBy: 'hand' | 'recording';
}

const isSet = ({ kind }: BenchTrial): boolean => kind === 'set';
export const isEverything = (record: Pick<BenchRecord, 'candidates'>, trial: BenchTrial): boolean =>
  isSet(trial) &&
  record.candidates.length > 0 &&
  trial.sent.length === record.candidates.length &&
  record.candidates.every(({ key }) => trial.sent.includes(key));
export const isNothing = (trial: BenchTrial): boolean => isSet(trial) && trial.sent.length === 0;

/** Seconds from power-up to the end of the recording; as planned where there is none. */
export const watchedS = ({ observed, settleS }: BenchTrial): number => observed?.watchedS ?? settleS;

/** Of a trial that counts. */
export const answerOf = ({ trial, verdict }: JudgedTrial): Answer => ({
  trial: trial.number,
  sent: new Set(trial.sent),
  works: verdict === 'operational',
  watchedS: watchedS(trial),
});

function judged(trial: BenchTrial, by: JudgedBy): JudgedTrial {
  const { seen, observed } = trial;
  const onRecord = observed === null ? null : judgeTrial(observed, trial.settleS, by);
  if (seen !== null) {
    const reasons = [`seen by hand${seen.note ? `: ${seen.note}` : ''}`, ...(onRecord?.reasons ?? [])];
    const differs = seen.verdict !== 'operational' && seen.verdict !== 'unclear';
    return { trial, verdict: seen.verdict, reasons, onsetS: onRecord?.onsetS ?? null, differs, judgedBy: 'hand' };
  }
  const nothing: Judgement = {
    verdict: 'unclear',
    reasons: ['there is no recording of it'],
    onsetS: null,
    differs: false,
  };
  return { trial, ...(onRecord ?? nothing), judgedBy: 'recording' };
}

const observations = (trials: readonly JudgedTrial[]): TrialObservation[] =>
  trials.flatMap(({ trial: { observed } }) => (observed ? [observed] : []));

/** What the trials of a record are judged by. */
function judgedByOf(map: Pick<SignalMap, 'frames'>, record: BenchRecord): JudgedBy {
  const counting = record.trials.filter(({ setAside }) => setAside === '');
  const alone = judgedBy(map, record.vehicle, { works: [], bare: [] });
  const bare = observations(
    counting
      .filter(isNothing)
      .map((trial) => judged(trial, alone))
      .filter(({ verdict }) => verdict !== 'operational'),
  );
  const byBare = judgedBy(map, record.vehicle, { works: [], bare });
  const works = observations(
    counting
      .filter((trial) => isEverything(record, trial))
      .map((trial) => judged(trial, byBare))
      .filter(({ verdict }) => verdict === 'operational'),
  );
  return judgedBy(map, record.vehicle, { works, bare });
}

/** In the order of the record. @param base the record that says what everything is, where some candidates are left out */
export function judgeAll(
  map: Pick<SignalMap, 'frames'>,
  record: BenchRecord,
  base: BenchRecord = record,
): JudgedTrial[] {
  const by = judgedByOf(map, base);
  return record.trials.map((trial) => judged(trial, by));
}
