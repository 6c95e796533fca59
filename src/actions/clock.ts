/**
 * The offset between the marks' clock and the capture's. First what the stamps say (epoch against epoch, whole hours
 * where a clock ran on local time, first mark on first frame where the clocks share no zero), then what
 * the data say: the peak of the agreement within 30 s of it.
 */
import type { ClockOrigin } from '../frames/table.ts';
import { EPOCH_FROM_S } from '../kit/time-base.ts';
import { GRID_S, SHIFT_S, type Circle } from './grid.ts';
import { alignMarks, movedMark } from './marks.ts';
import type { SearchRange } from './agreement.ts';
import type { Mark, MarkFile, OffsetFinding } from './types.ts';

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
const moved = (marks: readonly Mark[], byS: number): Mark[] => marks.map((mark) => movedMark(mark, (atS) => atS + byS));

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
