/**
 * Where an answer goes along another number while it falls short of what is asked for: the line, through zero or with a zero of its own, that most of
 * what falls short lies on and that hardly anything that is done lies beyond.
 */
import { evenly } from '../../fields/same-value/pairs.ts';
import { median, quantile } from '../../kit/statistics/order.ts';
import { runsShort, sideAt, type Laid } from './asked.ts';
import type { Prepared } from './prepared.ts';
import { NO_TOUCH, touchAt, type Acting, type Line, type Standing, type Touch } from './touch.ts';

const DITHERS = 2.5;
/** It is heard by so much later at most. */
const LATE_MOST_US = 300_000;
/** Below this share of its farthest it is stopped, not limited. */
const STOPPED = 0.05;
/** Share of the time in which it is at its least. */
const LOW = 0.01;
/** A time of falling short lasts so long, besides the lag. */
const LASTS_US = 250_000;
/** So many times where nearly all that falls short lies along it, and so many where other things hold it back as well. */
export const TIMES_LEAST = 2;
const PIECES_MOST = 16;
const PAIRS_MOST = 40;
/** Two heights tell a line where they lie so far apart, of all its range. */
const APART = 0.08;

export function actingOf(field: Prepared, laid: Laid, dither: number, lagUs: number): Acting | null {
  const { stepUs, done, most } = laid;
  const size = done.map((value, k) => sideAt(laid, k) * value);
  const isOn = (k: number): boolean => (size[k] as number) > STOPPED * most;
  const short = runsShort(laid, Math.ceil((LASTS_US + lagUs) / stepUs));
  const limited = short.filter(([from, to]) => size.subarray(from, to).some((value) => value > STOPPED * most));
  if (limited.length < TIMES_LEAST) return null;
  const known = size.filter((value) => !Number.isNaN(value));
  const inRun = new Int32Array(done.length).fill(-1);
  limited.forEach(([from, to], index) => inRun.fill(index, from, to));
  const at = Int32Array.from(done.keys()).filter(isOn);
  const run = Int32Array.from(at, (k) => inRun[k] as number);
  const ofRun = new Uint32Array(limited.length);
  for (const here of run) if (here >= 0) ofRun[here]!++;
  return {
    field,
    stepUs,
    points: done.length,
    at,
    done: Float64Array.from(at, (k) => size[k] as number),
    run,
    runs: limited.length,
    short: Int32Array.from(run.keys()).filter((i) => (run[i] as number) >= 0),
    ofRun,
    low: Math.min(0, quantile(known, LOW)),
    unsure: DITHERS * dither + field.field.quantum,
  };
}

const scratch = { limit: new Float64Array(0) };

/** [n] the limit at the answer's instants, so many points earlier, in a circle; valid until the next call. */
function readLimit({ at, points }: Acting, limit: Float64Array, late: number): Float64Array {
  if (scratch.limit.length < at.length) scratch.limit = new Float64Array(2 * at.length);
  const read = scratch.limit.subarray(0, at.length);
  const back = ((late % points) + points) % points;
  for (let i = 0; i < at.length; i++) {
    const k = (at[i] as number) - back;
    read[i] = limit[k < 0 ? k + points : k] as number;
  }
  return read;
}

interface Piece {
  readonly done: number;
  readonly limit: number;
}

/** Middle of each third of each time of falling short, as a limit may move meanwhile. */
function piecesOf({ run, done, runs }: Acting, limit: Float64Array): Piece[] {
  const rows = Array.from({ length: runs }, (): number[] => []);
  run.forEach((here, i) => {
    if (here >= 0 && !Number.isNaN(limit[i] as number)) (rows[here] as number[]).push(i);
  });
  const thirds = rows.flatMap((own) =>
    [0, 1, 2].map((k) => own.slice((k * own.length) / 3, ((k + 1) * own.length) / 3)),
  );
  const middle = (values: Float64Array, own: readonly number[]): number => median(own.map((i) => values[i] as number));
  return thirds.filter((own) => own.length > 0).map((own) => ({ done: middle(done, own), limit: middle(limit, own) }));
}

/** Through zero, or where the answer is least, and each of some pieces, and through some pairs of pieces at different heights. */
function linesOf(pieces: readonly Piece[], range: number, low: number): Line[] {
  const some = [...evenly(pieces.length, PIECES_MOST)].map((k) => pieces[k] as Piece);
  const plain = some
    .filter(({ limit }) => limit > 0)
    .flatMap(({ done, limit }) => [...new Set([0, low])].map((offset) => ({ ratio: (done - offset) / limit, offset })));
  const pairs = some.flatMap((a, i) =>
    some
      .slice(i + 1)
      .filter((b) => Math.abs(a.limit - b.limit) > APART * range)
      .map((b): Line => {
        const ratio = (a.done - b.done) / (a.limit - b.limit);
        return { ratio, offset: a.done - ratio * a.limit };
      }),
  );
  const rising = pairs.filter(({ ratio }) => ratio > 0);
  return [...plain, ...[...evenly(rising.length, PAIRS_MOST)].map((k) => rising[k] as Line)];
}

export function touchOf(acting: Acting, standing: Standing, shift: number): Touch {
  let best = NO_TOUCH;
  const lateMost = Math.round(LATE_MOST_US / acting.stepUs);
  for (let late = 0; late <= lateMost; late += 2) {
    const limit = readLimit(acting, standing.course, shift + late);
    for (const line of linesOf(piecesOf(acting, limit), standing.range, acting.low)) {
      const touch = touchAt(acting, limit, standing, line, best.score);
      if (touch) best = { ...touch, late };
    }
  }
  return best;
}
