/**
 * Other readings about a signal's bits, on this capture: the bytes in the other order, and one bit up or down. A rival refuses the map's
 * place only where it takes decisively less to tell the values from one frame to the next.
 */
import { nextBit, type ByteOrder } from '../../frames/bits.ts';
import type { Stream } from '../../frames/table.ts';
import type { CompiledSignal } from '../../map/decode.ts';
import { costOf, sumOfCosts, type Cost } from './motion.ts';
import type { Found, TakenBit } from './place-types.ts';
import { readBits } from './signal-values.ts';
import * as limit from './thresholds.ts';

/** Runs of bits within one byte, in the order of significance. */
function byteRuns(bits: readonly number[]): number[][] {
  const runs: number[][] = [];
  for (const at of bits) {
    const run = runs.at(-1);
    if (run && (run[0] as number) >> 3 === at >> 3) run.push(at);
    else runs.push([at]);
  }
  return runs;
}

interface RivalPlace {
  readonly bits: readonly number[];
  readonly words: string;
  /** One bit on: the bit of the map's own place that it does without. */
  readonly drops?: number;
}

const walk = (start: number, length: number, order: ByteOrder): number[] => {
  const places = [start];
  while (places.length < length) places.push(nextBit(places.at(-1) as number, 1, order));
  return places;
};

/**
 * Other readings about the same bits: the bytes in the other order (the very same bits turned about, and what a value of that order
 * would hold from either corner), and the same order one bit up or down.
 */
function rivalPlaces(bits: readonly number[], order: ByteOrder, length: number): RivalPlace[] {
  const [first, last] = [bits[0] as number, bits.at(-1) as number];
  const shifted = ([1, -1] as const).map((way) => ({
    bits: walk(nextBit(first, way, order), bits.length, order),
    words: `one bit further ${way > 0 ? 'up' : 'down'}`,
    drops: way > 0 ? first : last,
  }));
  const runs = byteRuns(bits);
  const other: ByteOrder = order === 'little' ? 'big' : 'little';
  const corners = [8 * (last >> 3), 8 * (last >> 3) + (first & 7)];
  const turned = [runs.toReversed().flat(), ...corners.map((start) => walk(start, bits.length, other))];
  const words = 'with its bytes in the other order';
  return [...(runs.length > 1 ? turned.map((each) => ({ bits: each, words })) : []), ...shifted].filter((each) =>
    each.bits.every((at) => at >= 0 && at < 8 * length),
  );
}

/** Null where no rival is decisively better. O(frames x bits). */
export function rivalFound(
  { signal }: CompiledSignal,
  stream: Stream,
  rows: readonly number[],
  bits: readonly number[],
  isTaken: TakenBit,
): Found | null {
  const cost = (reading: readonly number[]): Cost => {
    const still = reading.findIndex((at) => moves(stream, rows, at));
    if (still < 0) return { plain: 0, recurring: 0 };
    const values = readBits(stream, rows, reading.slice(still));
    const half = 2 ** (reading.length - still - 1);
    // Whichever suits it: a value that goes through zero is not to pay for its sign.
    const costs = [costOf(values), costOf(values.map((value) => (value >= half ? value - half : value + half)))];
    // A sign alone has no magnitude: a lone bit is told as it is.
    if (signal.coding === 'sign-magnitude' && half > 1)
      costs.push(costOf(values.map((value) => (value >= half ? half - value : value))));
    return {
      plain: Math.min(...costs.map(({ plain }) => plain)),
      recurring: Math.min(...costs.map(({ recurring }) => recurring)),
    };
  };
  const withRest = (of: readonly number[], other: readonly number[]): Cost =>
    sumOfCosts([cost(of), ...byteRuns(other.filter((at) => !of.includes(at))).map(cost)]);
  for (const { bits: other, words, drops } of rivalPlaces(bits, signal.order, stream.length)) {
    // Without a bit that rests it is the same value with one more bit, which `cutFound` asks about by its carries.
    if (drops !== undefined && !moves(stream, rows, drops)) continue;
    // What another entry of the map holds is not this value's as well: two clocks beside each other go together too.
    if (other.some((at) => !bits.includes(at) && isTaken(at))) continue;
    const own = withRest(bits, other);
    const rival = withRest(other, bits);
    const saved = own.plain - rival.plain;
    if (
      own.recurring - rival.recurring < limit.RIVAL_SAVES_BITS ||
      saved < (drops === undefined ? limit.ORDER_SAVES_SHARE : limit.SHIFT_SAVES_SHARE) * own.plain
    )
      continue;
    return {
      detail: `${words} the values take ${Math.round(saved)} of ${Math.round(own.plain)} bits less to tell from one frame to the next`,
      strange: [],
      figures: { bits: own.plain, saved },
    };
  }
  return null;
}

function moves(stream: Stream, rows: readonly number[], at: number): boolean {
  const bit = (row: number): number => ((stream.payload[row * stream.stride + (at >> 3)] as number) >> (at & 7)) & 1;
  const first = rows[0];
  return first !== undefined && rows.some((row) => bit(row) !== bit(first));
}
