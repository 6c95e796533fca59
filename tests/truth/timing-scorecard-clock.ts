/** Scores what is said of the logger: its resolution, whether it fetched frames several at a time, and what happened to its clock. */
import type { LoggerClock } from '../../src/frames/table.ts';
import type { SurveyClock } from '../../src/timing/types.ts';
import type { TimingTruth } from './timing-scorecard-truth.ts';
import type { Claims } from './support/claims.ts';
import type { TimingScore } from './timing-scorecard.ts';

interface Event {
  readonly what: 'hole' | 'restart' | 'jump';
  readonly atS: number;
  readonly byS: number;
  /** Sizes are known up to multiples of it. */
  readonly moduloS: number;
}

/** What is claimed: hidden jumps, silences that were the logger's, and what the reader mended. */
function claimed({ jumps, pauses, events }: SurveyClock): Event[] {
  return [
    ...jumps.map(({ atS, byS, moduloS }): Event => ({ what: 'jump', atS, byS, moduloS })),
    ...pauses
      .filter(({ who }) => who === 'logger')
      .map(({ fromS, toS }): Event => ({ what: 'hole', atS: fromS, byS: toS - fromS, moduloS: Infinity })),
    ...events
      .filter(({ kind }) => kind === 'jump-back' || kind === 'restart')
      .map(({ kind, atS, byS }): Event => ({
        what: kind === 'restart' ? 'restart' : 'jump',
        atS,
        byS,
        moduloS: Infinity,
      })),
  ];
}

const NEAR_S = 2.5;
/** A reader that mends a step back knows its size up to a usual interval, a silence its length up to the frames around it. */
const SIZE_NEAR_S = 0.25;

function isSame(event: Event, { kind, atS, byS }: TimingTruth['clockEvents'][0]): boolean {
  const what = kind === 'hole' || kind === 'restart' ? kind : 'jump';
  if (event.what !== what || Math.abs(event.atS - atS) > NEAR_S) return false;
  if (what === 'restart') return true;
  const off = event.byS - byS;
  const turns = Number.isFinite(event.moduloS) ? Math.round(off / event.moduloS) * event.moduloS : 0;
  return Math.abs(off - turns) < SIZE_NEAR_S;
}

/** A bus is silent while its modules sleep, or about to. */
const wasQuiet = ({ turns, modes }: TimingTruth, fromS: number, toS: number): boolean =>
  [...turns, ...modes.filter(({ mode }) => mode === 'asleep')].some(
    (span) => fromS <= span.toS + NEAR_S && toS >= span.fromS - NEAR_S,
  );

export function scoreClock(clock: SurveyClock, truth: TimingTruth): Pick<TimingScore, 'clock' | 'stamps'> {
  const { pauses } = clock;
  const found = claimed(clock);
  const right = truth.clockEvents.filter((event) => found.some((each) => isSame(each, event))).length;
  const wrong = found.filter((each) => !truth.clockEvents.some((event) => isSame(each, event))).length;
  const silences = pauses.filter(({ who, fromS, toS }) => who === 'bus' && !wasQuiet(truth, fromS, toS)).length;
  const isFine = clock.resolutionUs === truth.resolutionUs;
  const saysBatched = clock.batches.length > 0;
  const isRight = truth.isBatched === null || saysBatched === truth.isBatched;
  const stamps: Claims = {
    right: Number(isFine) + Number(isRight),
    wrong: Number(!isFine) + Number(!isRight && saysBatched),
    missed: Number(!isFine) + Number(!isRight),
  };
  return { clock: { right, wrong: wrong + silences, missed: truth.clockEvents.length - right }, stamps };
}

export interface LoggerError {
  readonly state: LoggerClock['state'];
  /** NaN where nothing is said. */
  readonly offsetMs: number;
  readonly driftPpm: number;
  /** The offset lies within the bounds that were said; null without bounds. */
  readonly isWithin: boolean | null;
}

/** @param middleS of the capture: offsets are said for there */
export function scoreLoggers(
  found: readonly LoggerClock[],
  { loggers }: TimingTruth,
  middleS: number,
): readonly LoggerError[] {
  return found.map(({ buses, state, offsetS, offsetBoundsS, driftPpm }) => {
    const truth = loggers.find(({ bus }) => buses.includes(bus));
    const trueS = truth ? truth.aheadS + truth.driftPpm * 1e-6 * middleS : NaN;
    return {
      state,
      offsetMs: offsetS === null ? NaN : 1000 * Math.abs(offsetS - trueS),
      driftPpm: driftPpm === null || !truth ? NaN : Math.abs(driftPpm - truth.driftPpm),
      isWithin: offsetBoundsS && offsetBoundsS[0] <= trueS && trueS <= offsetBoundsS[1],
    };
  });
}
