/** Whether the logger kept up: frames that counters miss, pauses of the logger, lines that were no frames. */
import type { Survey } from '../../timing/types.ts';
import type { Need, Verdict } from './types.ts';

/** Of all frames, so many may be missing: fewer than one in a thousand leaves each answer its frames (common practice, no source). */
const LOST_MOST = 0.001;
/** A pause of the logger for so long may hide a whole action. */
export const PAUSE_MOST_S = 0.5;

const share = (part: number, whole: number): number => (whole > 0 ? part / whole : 0);
const percent = (value: number): string => `${(100 * value).toPrecision(2)} %`;

function saysOf(verdict: Verdict, lostShare: number, pauses: number, longestS: number, hasCounters: boolean): string {
  if (verdict === 'cannot-tell') return 'No counter and no steady period tells whether frames were lost.';
  const by = hasCounters ? 'by the counters' : 'by the periods';
  const lost = lostShare > 0 ? `${percent(lostShare)} of the frames are missing ${by}` : `No frame is missing ${by}`;
  const held =
    pauses > 0
      ? `, and the logger paused ${pauses === 1 ? 'once' : `${pauses} times`}, ${longestS.toFixed(1)} s at most`
      : '';
  return `${lost}${held}.`;
}

/** The whole recording's losses in one need. */
export function lossNeed({ capture }: Pick<Survey, 'capture'>): Need {
  const { lost, pauses } = capture.clock;
  const own = pauses.filter(({ who }) => who === 'logger');
  const longestS = own.reduce((most, { fromS, toS }) => Math.max(most, toS - fromS), 0);
  const hasCounters = lost !== null && lost.counters > 0;
  const counted = lost ? lost.frames - lost.leftOut : 0;
  const missing = hasCounters ? counted : (lost?.byTicks ?? 0);
  const among = hasCounters ? lost.counted : capture.frames;
  const lostShare = share(missing, among + missing);
  const isTold = lost !== null && (hasCounters || lost.gridded > 0);
  const isShort = lostShare > LOST_MOST || longestS > PAUSE_MOST_S;
  const verdict: Verdict = !isTold ? 'cannot-tell' : isShort ? 'short' : 'enough';
  return {
    key: 'frames-lost',
    what: 'frames-lost',
    about: '',
    verdict,
    figures: { lost: missing, lostShare, pauses: own.length, longestPauseS: longestS, rejected: capture.rejected },
    says: saysOf(verdict, lostShare, own.length, longestS, hasCounters),
    ...(own.length > 0 ? { moments: own.map(({ fromS }) => fromS) } : {}),
  };
}
