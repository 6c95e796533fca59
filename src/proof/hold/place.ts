/**
 * Whether a signal lies where the map says and is coded so: what its bits do from frame to frame on this capture. A reading is
 * refused only where another reading of the same bits is decisively better and the map's own is broken here; values that a bus
 * samples go on in steps, misplaced or miscoded ones leap.
 */
import { codedValue, nextBit, type ByteOrder, type Coding } from '../../frames/bits.ts';
import type { Stream } from '../../frames/table.ts';
import type { CompiledSignal } from '../../map/decode.ts';
import { differences, goesWith, partAbove, partBelow, type Parting } from './motion.ts';
import type { Found, PlaceJudgement, TakenBit } from './place-types.ts';
import { rivalFound } from './rivals.ts';
import { bitsOf, READABLE_BITS, readBits, type SignalValues } from './signal-values.ts';
import * as limit from './thresholds.ts';

interface Reading {
  readonly bits: readonly number[];
  readonly values: Float64Array;
}

/** Of a number as it grows: two's complement from its least value on; sign and magnitude by its magnitude alone. */
function growing(
  { signal }: CompiledSignal,
  stream: Stream,
  rows: readonly number[],
  bits: readonly number[],
): Reading {
  if (signal.coding === 'sign-magnitude') {
    const own = bits.slice(0, -1);
    return { bits: own, values: readBits(stream, rows, own) };
  }
  const values = readBits(stream, rows, bits);
  if (signal.coding !== 'signed') return { bits, values };
  const half = 2 ** (bits.length - 1);
  return { bits, values: values.map((value) => (value >= half ? value - half : value + half)) };
}

const percent = (part: number, whole: number): string => `${part} of ${whole}`;

function partingFound({ bits, values }: Reading, rows: readonly number[]): Found | null {
  const found: Parting[] = [];
  for (let below = 1; below < bits.length; below++) {
    for (const parting of [partAbove(values, below), partBelow(values, below)])
      if (parting && parting.apart >= limit.PARTING_SHARE * parting.n) found.push(parting);
  }
  const best = found.sort((a, b) => b.apart - a.apart)[0];
  if (!best) return null;
  const upper = bits.length - best.below;
  const words =
    best.side === 'above'
      ? `at ${percent(best.apart, best.n)} changes of its upper ${upper} bits the lower ${best.below} went on as ever: they are bits of another value`
      : `at ${percent(best.apart, best.n)} changes of its upper ${upper} bits the lower ${best.below} kept still, and changed when those did not: they are bits of another value`;
  return {
    detail: words,
    strange: best.at.map((i) => rows[i] as number),
    figures: { changes: best.n, apart: best.apart, lowerBits: best.below },
  };
}

/** A bit above or below that goes with the value's carries and is nobody's else. */
function cutFound(
  { bits, values }: Reading,
  order: ByteOrder,
  stream: Stream,
  rows: readonly number[],
  isTaken: TakenBit,
): Found | null {
  const ends = [
    ['above', nextBit(bits.at(-1) as number, 1, order), limit.CARRIES_ABOVE],
    ['below', nextBit(bits[0] as number, -1, order), limit.CARRIES_BELOW],
  ] as const;
  for (const [side, at, needed] of ends) {
    if (bits.length < 3 || at < 0 || at >= 8 * stream.length || isTaken(at)) continue;
    const { n, apart, at: moments } = goesWith(values, readBits(stream, rows, [at]), bits.length, side);
    if (n < needed || apart < limit.PARTING_SHARE * n) continue;
    return {
      detail: `byte ${at >> 3} bit ${at & 7}, just ${side} it, goes with ${percent(apart, n)} of its carries: the value is cut off there`,
      strange: moments.map((i) => rows[i] as number),
      figures: { carries: n, withNeighbour: apart },
    };
  }
  return null;
}

const WHOLE_CODINGS = ['unsigned', 'signed', 'sign-magnitude'] as const satisfies Coding[];

interface Rival {
  readonly coding: Coding;
  readonly length: number;
}

const isFar = (far: number) => (step: number) => Math.abs(step) >= far;

/** Up to the highest bit that moves: still ones above it may be no part of the value. */
function liveLength(raws: Float64Array, length: number): number {
  const first = raws[0] ?? 0;
  let differ = 0;
  for (const raw of raws) differ = Math.max(differ, highestDifference(raw, first));
  return Math.min(length, differ);
}

/** 1 + the place of the highest bit in which two values differ. */
function highestDifference(a: number, b: number): number {
  let [x, y, length] = [a, b, 0];
  while (x !== y) {
    x = Math.floor(x / 2);
    y = Math.floor(y / 2);
    length++;
  }
  return length;
}

/**
 * Leaps over the seam of the map's coding (of half of all that moves and more) that another coding takes in usual steps: a sign
 * forgotten, made up, or sought in another bit.
 */
function seamFound(
  { signal }: CompiledSignal,
  stream: Stream,
  rows: readonly number[],
  bits: readonly number[],
): Found | null {
  if (!WHOLE_CODINGS.some((coding) => coding === signal.coding) || bits.length < 4) return null;
  const raws = readBits(stream, rows, bits);
  const live = liveLength(raws, bits.length);
  if (live < 4) return null;
  const coded = ({ coding, length }: Rival): Float64Array =>
    raws.map((raw) => codedValue(raw % 2 ** length, coding, length));
  const leaping = isFar(2 ** (live - 2));
  const own = differences(coded({ coding: signal.coding, length: bits.length }));
  const leaps = [...own.keys()].filter((i) => leaping(own[i] as number));
  if (leaps.length < limit.SEAMS_NEEDED) return null;
  // A pedal that is pressed at once leaps too: one seen to do little else tells of no seam.
  const others = [...own].filter((step) => step !== 0 && !leaping(step));
  if (others.length < limit.PARTING_CHANGES) return null;
  const rivals = [...new Set([bits.length, live])].flatMap((length) =>
    WHOLE_CODINGS.map((coding): Rival => ({ coding, length })),
  );
  for (const rival of rivals) {
    if (rival.coding === signal.coding && rival.length === bits.length) continue;
    const values = coded(rival);
    const other = differences(values);
    const eased = leaps.filter((i) => Math.abs(other[i] as number) <= Math.abs(own[i] as number) / limit.SEAM_EASES);
    const otherLeaps = other.filter(leaping).length;
    const sides = [values.filter((value) => value < 0), values.filter((value) => value >= 0)];
    const shown = sides.every((side) => new Set(side).size >= limit.SEAMS_NEEDED) || rival.coding === 'unsigned';
    if (eased.length < Math.max(limit.SEAMS_NEEDED, 0.8 * leaps.length) || otherLeaps > 0.2 * leaps.length || !shown)
      continue;
    const width = rival.length < bits.length ? ` of ${rival.length} bits` : '';
    return {
      detail: `read as ${signal.coding} it leaps over half of what moves ${leaps.length} times; read as ${rival.coding}${width} ${eased.length} of these are small steps`,
      strange: eased.map((i) => rows[i + 1] as number),
      figures: { leaps: leaps.length, eased: eased.length },
    };
  }
  return null;
}

function unreadableFound({ signal }: CompiledSignal, { raws, unreadable }: SignalValues): Found | null {
  const n = raws.length + unreadable.length;
  if (unreadable.length <= limit.UNREADABLE_MOST * n) return null;
  return {
    detail: `${percent(unreadable.length, n)} values cannot be read as ${signal.coding}`,
    strange: unreadable,
    figures: { values: n, unreadable: unreadable.length },
  };
}

/** Of a number. O(frames x bits). */
export function judgePlace(
  compiled: CompiledSignal,
  values: SignalValues,
  stream: Stream,
  isTaken: TakenBit,
): PlaceJudgement {
  const { signal } = compiled;
  const { rows, changes, distinct } = values;
  const unreadable = unreadableFound(compiled, values);
  if (unreadable) return { verdict: 'fails', ...unreadable };
  const figures = { values: rows.length, changes, distinct };
  if (changes < limit.CHANGES_NEEDED || distinct < 3)
    return {
      verdict: 'not-exercised',
      detail: changes === 0 ? 'constant in this capture' : `it changed ${changes} times: too few to tell where it lies`,
      figures,
      strange: [],
    };
  const bits = bitsOf(compiled);
  const isWhole = signal.coding !== 'float' && signal.coding !== 'bcd';
  if (bits.length <= READABLE_BITS) {
    const reading = growing(compiled, stream, rows, bits);
    const found =
      seamFound(compiled, stream, rows, bits) ??
      rivalFound(compiled, stream, rows, bits, isTaken) ??
      (isWhole ? (partingFound(reading, rows) ?? cutFound(reading, signal.order, stream, rows, isTaken)) : null);
    if (found) return { verdict: 'fails', ...found };
  }
  return {
    verdict: 'holds',
    detail: `${changes} changes, ${distinct} values, all as of one value so placed and coded`,
    figures,
    strange: [],
  };
}
