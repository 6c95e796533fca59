/**
 * What it costs to say where a span lies: minus log2 of how likely such a span is in a payload, whatever its values are (two-part code,
 * Rissanen 1978). A value is rarely seen whole: its top bits may never have moved. So a span of so many bits may be any wider value that
 * fits into the still bits above it; where the next bit up moves, the width is what it is, and odd widths are unlikely. The shares
 * are common practice, no source; results change little when they are halved or doubled.
 */
import { hasBit } from './mask.ts';
import { nextBit, type ByteOrder } from '../frames/bits.ts';
import type { SpanCost, SpanModel } from './span-cost.ts';

/** Still bits that a value might own, directly above and below it. */
export interface StillBeside {
  readonly above: number;
  readonly below: number;
}

const SHARE = { flag: 0.35, states: 0.2, number: 0.45 };

/** Shares of the widths of numbers that are drawn from habit; the others are drawn by the bits that a range needs. */
const HABITUAL = new Map([
  [4, 0.05],
  [6, 0.04],
  [7, 0.03],
  [8, 0.26],
  [10, 0.09],
  [12, 0.1],
  [16, 0.16],
  [20, 0.025],
  [24, 0.02],
  [32, 0.02],
]);
const OTHERWISE = 0.015;
const AS_NEEDED = 0.3;
const WIDEST = 32;
const STATES_WIDTHS = [0, 0, 0.35, 0.3, 0.25, 0.06, 0.02, 0.01, 0.01];

const widthShare = (width: number): number =>
  (1 - AS_NEEDED) * (HABITUAL.get(width) ?? (width <= 16 ? OTHERWISE : OTHERWISE / 5)) +
  AS_NEEDED * (width <= 16 ? 0.9 / 14 : 0.1 / 16);

/** How likely it is that so many top bits of a number never moved. */
const stillTopShare = (bits: number): number => (bits === 0 ? 0.55 : 0.45 * 0.5 ** bits);
/** Still bits that are looked at. */
const BESIDE_MAX = 12;

/** [length][still bits above] share of the numbers that show so many bits. */
const SEEN = Array.from({ length: WIDEST + 9 }, (_, length) => {
  let share = 0;
  return Array.from({ length: BESIDE_MAX + 1 }, (_, still) => {
    if (length + still <= WIDEST) share += widthShare(length + still) * stillTopShare(still);
    return share;
  });
});

/** Still low bits: a value in steps of two, four or five. */
const STILL_BELOW = 0.05;

function numberShare(bit: number, length: number, { above, below }: StillBeside): number {
  if (length < 3 && above + below === 0) return 0;
  let share = SEEN[length]![above]!;
  for (let still = 1; still <= Math.min(below, bit); still++) share += STILL_BELOW * SEEN[length + still]![above]!;
  return SHARE.number * share;
}

function statesShare(length: number, { above }: StillBeside): number {
  let share = 0;
  for (let still = 0; still <= Math.min(above, 2); still++)
    share += (STATES_WIDTHS[length + still] ?? 0) * (still === 0 ? 0.8 : 0.1);
  return SHARE.states * share;
}

/** One bit that is not a flag: the only one that moved of a wider value. */
const OF_WIDER = 0.02;
const OF_WIDER_ALONE = 0.003;
/** Of the flags, those with a second bit for "no data". */
const WITH_SPARE_BIT = 0.02;
/** The same of those that begin with "no data", which a single bit cannot say. */
const FILLED_WITH_SPARE_BIT = 0.15;

/** As `layoutPrice`, of a value that began as all ones: no bit of it can have stayed still. */
function filledPrice(length: number, model: SpanModel): number {
  const number = length < 3 ? 0 : SHARE.number * widthShare(length);
  const states = SHARE.states * (STATES_WIDTHS[length] ?? 0);
  const pair = length === 2 ? SHARE.flag * FILLED_WITH_SPARE_BIT : 0;
  return -Math.log2((model === 'states' ? states + 0.1 * number : number + 0.3 * states) + pair + 1e-9);
}

/** @param bit of its byte where the span begins */
export function layoutPrice(
  bit: number,
  length: number,
  { model, isFilled }: Pick<SpanCost, 'model' | 'isFilled'>,
  beside: StillBeside,
): number {
  if (isFilled) return filledPrice(length, model);
  if (length === 1) return -Math.log2(SHARE.flag + (beside.above + beside.below > 0 ? OF_WIDER : OF_WIDER_ALONE));
  const number = numberShare(bit, length, beside);
  const states = statesShare(length, beside);
  const pair = length === 2 ? SHARE.flag * WITH_SPARE_BIT : 0;
  return -Math.log2((model === 'states' ? states + 0.1 * number : number + 0.3 * states) + pair + 1e-9);
}

/** Of all values, those read as floating-point numbers, and of these the ones that begin with a byte. */
const FLOATS = 0.03;
const FLOATS_ALIGNED = 0.8;

/** The price of the place of a floating-point number. */
export const floatPrice = (bit: number): number =>
  -Math.log2(FLOATS * (bit === 0 ? FLOATS_ALIGNED : (1 - FLOATS_ALIGNED) / 7));

function stillFrom(from: number, way: 1 | -1, order: ByteOrder, free: Uint8Array, usable: Uint8Array): number {
  let bits = 0;
  for (let at = from; bits < BESIDE_MAX; bits++) {
    at = nextBit(at, way, order);
    if (!hasBit(usable, at) || hasBit(free, at)) break;
  }
  return bits;
}

/** lowest, highest: bits (byte * 8 + bit) of a span. free, usable: [bytes] as for `priceSpans`. */
export const stillBeside = (
  lowest: number,
  highest: number,
  order: ByteOrder,
  free: Uint8Array,
  usable: Uint8Array,
): StillBeside => ({
  above: stillFrom(highest, 1, order, free, usable),
  below: stillFrom(lowest, -1, order, free, usable),
});
