/**
 * How long the part bears the silence of a frame, from trials in which that frame alone fell silent: from its last frame to the first one of the part
 * that shows a fault, or to the last before it fell asleep.
 */
import type { JudgedTrial } from './verdicts.ts';

export interface MeasuredTimeout {
  readonly key: string;
  /** Least and most that a trial leaves open, milliseconds: between two frames of the part. */
  readonly lowMs: number;
  readonly highMs: number;
  /** Trials that showed a reaction, and those in which none came while they were watched. */
  readonly trials: readonly number[];
  readonly without: readonly number[];
  /** What the trials without a reaction were watched for, at least. */
  readonly bornMs: number | null;
}

interface Reaction {
  readonly trial: number;
  readonly lowS: number;
  readonly highS: number;
}

/** Seconds from power-up to the last frame before it fell silent; null where it is not in the recording. */
const silentFromS = ({ observed, stopped }: JudgedTrial['trial']): number | null =>
  observed?.sent.find(({ key }) => key === stopped?.key)?.lastS ?? null;

/** Null where the part did not react while it was watched, or its reaction cannot be timed. */
function reactionOf({ trial, verdict, onsetS }: JudgedTrial): Reaction | null {
  const { observed, number } = trial;
  const lastS = silentFromS(trial);
  if (!observed || lastS === null) return null;
  if (verdict === 'asleep') {
    const silentS = observed.own.reduce((most, own) => Math.max(most, own.lastS), 0) - lastS;
    return silentS > 0 ? { trial: number, lowS: silentS, highS: silentS } : null;
  }
  if (verdict !== 'awake-with-fault' || onsetS === null || onsetS <= lastS) return null;
  const first = observed.fields.find(({ sinceS }) => sinceS === onsetS);
  return { trial: number, lowS: Math.max(0, (first?.beforeS ?? onsetS) - lastS), highS: onsetS - lastS };
}

const bornS = ({ trial }: JudgedTrial): number | null => {
  const lastS = silentFromS(trial);
  return trial.observed === null || lastS === null ? null : trial.observed.watchedS - lastS;
};

const ms = (seconds: number): number => Math.round(seconds * 1000);

/** By frame, from the trials of kind "stop" that count. */
export function measuredTimeouts(judged: readonly JudgedTrial[]): MeasuredTimeout[] {
  const stops = judged.filter(({ trial }) => trial.kind === 'stop' && trial.stopped !== null && trial.setAside === '');
  const keys = [...new Set(stops.map(({ trial }) => trial.stopped?.key as string))];
  return keys.flatMap((key): MeasuredTimeout[] => {
    const mine = stops.filter(({ trial }) => trial.stopped?.key === key);
    const reactions = mine.flatMap((each) => reactionOf(each) ?? []);
    const still = mine.filter(({ verdict }) => verdict === 'operational');
    const born = still.flatMap((each) => bornS(each) ?? []);
    const [low, high] = [reactions.map(({ lowS }) => lowS), reactions.map(({ highS }) => highS)];
    if (reactions.length === 0 && born.length === 0) return [];
    return [
      {
        key,
        lowMs: low.length > 0 ? ms(Math.min(...low)) : 0,
        highMs: high.length > 0 ? ms(Math.max(...high)) : 0,
        trials: reactions.map(({ trial }) => trial),
        without: still.map(({ trial }) => trial.number),
        bornMs: born.length > 0 ? ms(Math.min(...born)) : null,
      },
    ];
  });
}
