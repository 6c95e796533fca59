/** Frames that both loggers heard, pair of identifiers by pair: found by payload near where a first line through shared moments puts them. */
import { createRandom } from '../../../kit/random.ts';
import { robustLine } from '../../../kit/statistics/robust-line.ts';
import type { Changes } from './anchors.ts';
import type { Crowd } from './votes.ts';

/** Difference of the clocks at the second one's own time: `levelUs + slope * (own - pivotUs)`. */
export interface DifferenceLine {
  readonly levelUs: number;
  readonly slope: number;
  readonly pivotUs: number;
}

export const differenceAt = ({ levelUs, slope, pivotUs }: DifferenceLine, ownUs: number): number =>
  levelUs + slope * (ownUs - pivotUs);

/** What one pair of identifiers has in common. */
export interface CopiedFrames {
  readonly a: Changes;
  readonly b: Changes;
  /** [n] stamps of both loggers, ascending. */
  readonly aUs: Float64Array;
  readonly bUs: Float64Array;
  /** Shares of the changes of each side, within the time of both, that the other has as well. */
  readonly shareOfA: number;
  readonly shareOfB: number;
}

const PAIRS_MOST = 40;
const ANCHORS_LEAST = 3;
/** A gateway's delays, and the error of a line through a few moments. */
const NEAR_US = 40_000;
const FRAMES_LEAST = 10;
const SEED = 'lines through shared moments';

/** A first line, good to a gateway's delays. */
export function firstLine({ anchors, fromUs, toUs }: Crowd): DifferenceLine {
  const pivotUs = (fromUs + toUs) / 2;
  const x = Float64Array.from(anchors, ({ bUs }) => (bUs - pivotUs) / 1e6);
  const y = Float64Array.from(anchors, ({ aUs, bUs }) => bUs - aUs);
  const { offset, scale } = robustLine(x, y, createRandom(SEED));
  return { levelUs: offset, slope: scale / 1e6, pivotUs };
}

/** Changes of `b` from..to that have just one like them in `a` near where the line puts it. O(changes). */
function match(a: Changes, b: Changes, line: DifferenceLine, fromUs: number, toUs: number): CopiedFrames | null {
  const [aTimes, bTimes] = [a.stream.timeUs, b.stream.timeUs];
  const aUs: number[] = [];
  const bUs: number[] = [];
  let [low, looked] = [0, 0];
  for (let i = 0; i < b.rows.length; i++) {
    const own = bTimes[b.rows[i] as number] as number;
    if (own < fromUs || own > toUs) continue;
    const expected = own - differenceAt(line, own);
    while (low < a.rows.length && (aTimes[a.rows[low] as number] as number) < expected - NEAR_US) low++;
    if (low === a.rows.length || expected < (aTimes[0] as number) - NEAR_US) continue;
    looked++;
    let [found, times] = [-1, 0];
    for (let j = low; j < a.rows.length && (aTimes[a.rows[j] as number] as number) <= expected + NEAR_US; j++) {
      if (a.hashes[j] !== b.hashes[i]) continue;
      found = j;
      times++;
    }
    if (times !== 1) continue;
    aUs.push(aTimes[a.rows[found] as number] as number);
    bUs.push(own);
  }
  if (aUs.length < FRAMES_LEAST) return null;
  const [first, last] = [aUs[0] as number, aUs[aUs.length - 1] as number];
  const ofA = a.rows.reduce((sum, row) => {
    const us = aTimes[row] as number;
    return sum + (us >= first && us <= last ? 1 : 0);
  }, 0);
  return {
    a,
    b,
    aUs: Float64Array.from(aUs),
    bUs: Float64Array.from(bUs),
    shareOfA: aUs.length / Math.max(1, ofA),
    shareOfB: aUs.length / Math.max(1, looked),
  };
}

/**
 * @param fromUs the second logger's own time within which the crowd's line holds
 * Cost: the changes of at most PAIRS_MOST pairs.
 */
export function copiedFrames(
  crowd: Crowd,
  line: DifferenceLine,
  as: readonly Changes[],
  bs: readonly Changes[],
  fromUs: number,
  toUs: number,
): CopiedFrames[] {
  const counts = new Map<string, { a: number; b: number; n: number }>();
  for (const { a, b } of crowd.anchors) {
    const known = counts.get(`${a}/${b}`) ?? { a, b, n: 0 };
    known.n++;
    counts.set(`${a}/${b}`, known);
  }
  return [...counts.values()]
    .filter(({ n }) => n >= ANCHORS_LEAST)
    .sort((one, other) => other.n - one.n)
    .slice(0, PAIRS_MOST)
    .flatMap(({ a, b }) => match(as[a] as Changes, bs[b] as Changes, line, fromUs, toUs) ?? []);
}
