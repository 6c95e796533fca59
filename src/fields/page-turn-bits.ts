/**
 * What the turns of pages cost to write down, learnt on the first half of the rows and charged on the second: part of what a selector costs.
 */
import { countVisits } from './page-turns.ts';

/**
 * Bits for the second half of the values, each told what so many before it were.
 * values: [rows] each as its number among the `kinds` there are, so that keys stay small whole numbers.
 */
function bitsGiven(values: Uint8Array, order: number, kinds: number, distinct: number): number {
  const half = values.length >> 1;
  const seen = new Map<number, number>();
  const contexts = kinds ** order;
  let bits = 0;
  let context = 0;
  for (let row = 0; row < values.length; row++) {
    const value = values[row] as number;
    const whole = context * (kinds + 1);
    const all = seen.get(whole) ?? 0;
    const key = whole + 1 + value;
    const times = seen.get(key) ?? 0;
    if (row >= half) bits -= Math.log2((times + 1 / distinct) / (all + 1));
    seen.set(key, times + 1);
    seen.set(whole, all + 1);
    context = (context * kinds + value) % contexts;
  }
  return bits;
}

/** Rows that a value is held for, as far as they are told apart. */
const HELD_TOLD = 16;

/** As `bitsGiven`, each value told the one before it and for how many rows that has been held: pages may be sent a fixed number of times each. */
function bitsHeld(values: Uint8Array, kinds: number, distinct: number): number {
  const half = values.length >> 1;
  const contexts = new Float64Array((kinds + 1) * HELD_TOLD);
  const seen = new Float64Array((kinds + 1) * HELD_TOLD * kinds);
  let bits = 0;
  let [last, held] = [kinds, 0];
  values.forEach((value, row) => {
    const context = last * HELD_TOLD + held;
    const key = context * kinds + value;
    const [times, all] = [seen[key] as number, contexts[context] as number];
    if (row >= half) bits -= Math.log2((times + 1 / distinct) / (all + 1));
    seen[key]!++;
    contexts[context]!++;
    held = value === last ? Math.min(HELD_TOLD - 1, held + 1) : 0;
    last = value;
  });
  return bits;
}

/** Bits to write down the second half of the values, each told the one, two or three before it or how long the last was held, whichever is cheapest. */
export function turnBits(values: Uint8Array, distinct: number): number {
  const numbers = new Uint8Array(256);
  const kinds = countVisits(values).distinct;
  kinds.forEach((value, number) => (numbers[value] = number));
  const numbered = values.map((value) => numbers[value] as number);
  const byOrder = [1, 2, 3].map((order) => bitsGiven(numbered, order, kinds.length, distinct));
  return Math.min(...byOrder, bitsHeld(numbered, kinds.length, distinct));
}
