/**
 * The offset between the marks' clock and the capture's. First what the stamps say (epoch against epoch, whole hours
 * where a clock ran on local time, first mark on first frame where the clocks share no zero), then what
 * the data say: the peak of the agreement within 30 s of it.
 */
import type { ClockOrigin } from '../frames/table.ts';
import { EPOCH_FROM_S } from '../kit/time-base.ts';
import { GRID_S, SHIFT_S, type Circle } from './grid.ts';
import { alignMarks } from './marks.ts';
import type { Peak, SearchRange } from './agreement.ts';
import type { FineOffset } from './reaction.ts';
import type { Drift, Mark, MarkFile, OffsetFinding } from './types.ts';

const SEARCH_S = 30;
const HOURS_MAX = 14;
/** Room on each side of the marks when only part of a long capture is shifted through. */
const ROOM_S = 150;

export interface RoughClock {
  /** Seconds from the capture's origin, before the offset that is searched. */
  readonly marks: readonly Mark[];
  /** What was added to the marks' own time (less the origin) to get there. */
  readonly addedS: number;
  /** Farthest offsets worth a search, seconds. */
  readonly searchS: readonly [number, number];
  readonly words: string;
}

const lastOf = (mark: Mark): number => mark.endS ?? mark.startS;
const moved = (marks: readonly Mark[], byS: number): Mark[] =>
  marks.map((mark) => ({ ...mark, startS: mark.startS + byS, endS: mark.endS === null ? null : mark.endS + byS }));

const insideShare = (marks: readonly Mark[], byS: number, durationS: number): number =>
  marks.filter(({ startS }) => startS + byS >= 0 && startS + byS <= durationS).length / marks.length;

/** Whole hours that bring the marks into the capture where they lie outside it; 0 where none does better. */
function wholeHours(marks: readonly Mark[], durationS: number): number {
  let best = 0;
  for (let hours = 1; hours <= HOURS_MAX; hours++) {
    for (const signed of [hours, -hours]) {
      if (insideShare(marks, signed * 3600, durationS) > insideShare(marks, best * 3600, durationS) + 0.2)
        best = signed;
    }
  }
  return best;
}

function spread(marks: readonly Mark[]): { firstS: number; lastS: number } {
  return {
    firstS: Math.min(...marks.map(({ startS }) => startS)),
    lastS: Math.max(...marks.map(lastOf)),
  };
}

/** Lays marks of an unrelated clock first mark on first frame, and searches all offsets at which they overlap. */
function unrelatedClock(marks: readonly Mark[], durationS: number): RoughClock {
  const { firstS, lastS } = spread(marks);
  const slackS = Math.max(0, durationS - (lastS - firstS));
  return {
    marks: moved(marks, -firstS),
    addedS: -firstS,
    searchS: [-SEARCH_S, slackS + SEARCH_S],
    words: "the marks' clock has nothing in common with the capture's, so every offset at which they overlap was tried",
  };
}

/** Whether marks and capture count from the same start, as far as what was written shows. */
export const sharesClock = (timeBase: MarkFile['timeBase'], origin: Pick<ClockOrigin, 'kind' | 'text'>): boolean =>
  timeBase === 'capture' || (origin.kind === 'epoch' && Number(origin.text) >= EPOCH_FROM_S);

/**
 * Whether marks moved by an offset stand where things were done, as far as can be told: where none stood out of chance, only on one clock with
 * the capture.
 */
export const isClockTold = (
  { from }: Pick<OffsetFinding, 'from'>,
  timeBase: MarkFile['timeBase'],
  origin: Pick<ClockOrigin, 'kind' | 'text'>,
): boolean => from !== 'not-found' || sharesClock(timeBase, origin);

export function roughClock(file: MarkFile, origin: ClockOrigin, durationS: number): RoughClock {
  if (!sharesClock(file.timeBase, origin)) return unrelatedClock(file.marks, durationS);
  const marks = alignMarks(file, origin.text);
  const searchS = [-SEARCH_S, SEARCH_S] as const;
  const near = Math.max(...[-SEARCH_S, 0, SEARCH_S].map((byS) => insideShare(marks, byS, durationS)));
  const hours = near > 0.3 ? 0 : wholeHours(marks, durationS);
  if (hours !== 0) {
    const words = `the marks lie ${Math.abs(hours)} h ${hours > 0 ? 'before' : 'after'} the capture: taken as a clock on local time`;
    return { marks: moved(marks, hours * 3600), addedS: hours * 3600, searchS, words };
  }
  return { marks, addedS: 0, searchS, words: '' };
}

/** The stretch that marks are shifted round in: the capture, or the marks and some room where they fill little of it. */
export function circleFor(marks: readonly Mark[], durationS: number, searchS: readonly [number, number]): Circle {
  const { firstS, lastS } = spread(marks);
  const fromS = Math.max(0, firstS - ROOM_S + Math.min(0, searchS[0]));
  const toS = Math.min(durationS, lastS + ROOM_S + Math.max(0, searchS[1]));
  const whole = !(toS - fromS >= 2 * ROOM_S) || toS - fromS > 0.6 * durationS;
  const [start, end] = whole ? [0, durationS] : [fromS, toS];
  return { fromS: start, points: Math.max(2, 2 * Math.ceil((end - start) / (2 * GRID_S))) };
}

/** Shifts to search; never so many that the circle is searched twice. */
export function searchRange([fromS, toS]: readonly [number, number], circle: Circle): SearchRange {
  const half = Math.floor(circle.points / 4) - 1;
  const from = Math.round(fromS / SHIFT_S);
  const to = Math.round(toS / SHIFT_S);
  if (to - from < 2 * half) return { from, to };
  const clipped = Math.max(from, -half);
  return { from: clipped, to: Math.min(to, clipped + 2 * half) };
}

const signed = (value: number, digits: number): string =>
  `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(digits)} s`;

export const standsOut = (peak: Peak): boolean => peak.agreement > peak.chance;

/** Share of the peak's height over typical that the runner-up reaches. */
function rivalShare({ agreement, typical, runnerUp }: Peak): number {
  return runnerUp && agreement > typical ? Math.max(0, (runnerUp.agreement - typical) / (agreement - typical)) : 0;
}

/** Seconds by which the clocks part over the recording, with its error. */
function driftWords({ ppm, sePpm, overS }: Drift): string {
  const way = ppm > 0 ? 'fast' : 'slow';
  const partS = ((Math.abs(ppm) * overS) / 1e6).toFixed(2);
  return `the marks' clock runs ${way} by ${Math.abs(ppm).toFixed(0)} ± ${(1.96 * sePpm).toFixed(0)} millionths, ${partS} s over ${overS.toFixed(0)} s: the offset is that of the middle`;
}

function foundWords(offsetS: number, seS: number, peak: Peak): string {
  const rival = rivalShare(peak);
  const height = `agreement ${peak.agreement.toFixed(0)} against ${peak.chance.toFixed(0)} that chance reaches once in a thousand`;
  const runnerUp =
    peak.runnerUp && rival > 0.5
      ? `; runner-up at ${signed(peak.runnerUp.shift * SHIFT_S, 1)} reaches ${Math.round(rival * 100)} % of it`
      : '';
  return `offset ${signed(offsetS, 2)} ± ${(1.96 * seS).toFixed(2)} s, your mean reaction included (${height}${runnerUp})`;
}

const joined = (...parts: string[]): string => parts.filter(Boolean).join('. ');

function runnerUpOf(peak: Peak, addedS: number): Pick<OffsetFinding, 'runnerUp'> {
  const { runnerUp } = peak;
  return runnerUp ? { runnerUp: { offsetS: runnerUp.shift * SHIFT_S + addedS, share: rivalShare(peak) } } : {};
}

export function foundOffset(rough: RoughClock, peak: Peak, fine: FineOffset): OffsetFinding {
  const offsetS = rough.addedS + fine.offsetS;
  return {
    offsetS,
    seS: fine.seS,
    from: 'found',
    curve: withAdded(peak, rough.addedS),
    chance: peak.chance,
    ...(fine.drift ? { drift: fine.drift } : {}),
    ...runnerUpOf(peak, rough.addedS),
    words: joined(foundWords(offsetS, fine.seS, peak), fine.drift ? driftWords(fine.drift) : '', rough.words),
  };
}

function withAdded({ curve }: Peak, addedS: number): OffsetFinding['curve'] {
  return { offsetS: curve.offsetS.map((offsetS) => offsetS + addedS), agreement: curve.agreement };
}

export function lostOffset(rough: RoughClock, peak: Peak): OffsetFinding {
  const compared = Number.isFinite(peak.chance)
    ? ` (best agreement ${peak.agreement.toFixed(0)}, chance reaches ${peak.chance.toFixed(0)} once in a thousand)`
    : '';
  const words =
    `no offset stands out${compared}: ` +
    'the marks were taken as they are. More repetitions at irregular moments would settle it, or give the offset by hand';
  return {
    offsetS: rough.addedS,
    seS: null,
    from: 'not-found',
    curve: withAdded(peak, rough.addedS),
    chance: peak.chance,
    words: joined(words, rough.words),
  };
}

export function givenOffset(offsetS: number): OffsetFinding {
  return {
    offsetS,
    seS: null,
    from: 'given',
    curve: null,
    chance: null,
    words: `offset ${signed(offsetS, 2)}, given by hand`,
  };
}

export const unneededOffset = (words: string): OffsetFinding => ({
  offsetS: 0,
  seS: null,
  from: 'not-needed',
  curve: null,
  chance: null,
  words,
});
