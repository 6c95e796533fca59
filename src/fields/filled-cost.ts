/**
 * What spans cost that hold bits which only fillings moved, of rows without fillings. Their width is seen whole; they are dearer where their
 * bits left fillings apart; and such a bit may be no value's, as modules fill whole frames before they write values into them.
 */
import { bitPositions, type ByteOrder } from '../frames/bits.ts';
import type { Filled } from './fillings.ts';
import { hasBit } from './mask.ts';
import type { SpanCost } from './span-cost.ts';

/** Bits that a value costs for each filling that it would have left bit by bit, and at most: a module knows a value or does not. */
const TORN_BITS = 8;
const TORN_MAX = 24;
/** Bits to say that a value never moved: most do. */
const UNMOVED_BITS = 3;

/** Whether some of the bits left a filling before others that stayed on in it. first: [bytes * 8] as in `Filled`. */
function isTorn(bits: readonly number[], mask: Uint8Array, first: Float64Array): boolean {
  const rows = bits.map((at) => first[at] as number);
  const ofFilled = rows.filter((row, index) => row !== Infinity && hasBit(mask, bits[index] as number));
  return Math.min(...rows) < Math.max(...ofFilled);
}

/** The cost of a span, had of rows without fillings, that holds bits which only fillings moved. lsb: byte * 8 + bit. */
export function asFilled(
  cost: SpanCost,
  filled: Filled | null,
  lsb: number,
  length: number,
  order: ByteOrder,
): SpanCost {
  if (!filled) return cost;
  const bits = bitPositions({ lsb: { byte: lsb >> 3, bit: lsb & 7 }, length, order });
  if (!bits.some((at) => hasBit(filled.mask, at))) return cost;
  const torn = filled.leaving.filter((first) => isTorn(bits, filled.mask, first)).length;
  const own = cost.moves === 0 ? length + UNMOVED_BITS : cost.bits;
  return { ...cost, isFilled: true, bits: own + Math.min(TORN_MAX, TORN_BITS * torn) };
}

/**
 * Bits to leave a bit unexplained that nothing but fillings moved. Where other bits stayed still, fillings fill values and nothing else; where
 * none did, whole frames were filled, what is no value in them too.
 */
const LEAVE_VALUE = 8;
const LEAVE_SPARE = 1.5;

/** [bytes * 8] bits that it costs to leave each bit unexplained. leaveBits: of one that moves by itself. */
export const leavingFilled = ({ mask, isWhole }: Filled, leaveBits: number): Float64Array =>
  Float64Array.from({ length: mask.length * 8 }, (_, at) =>
    hasBit(mask, at) ? (isWhole ? LEAVE_SPARE : LEAVE_VALUE) : leaveBits,
  );
