/**
 * One value or flags side by side? Going from value to value raises some bits and lowers others; flags mostly change alone (common practice,
 * no source). A value that goes to and fro between two neighbours shows the same change again and again, which is no new evidence: repeats
 * of a change count less, each by one over how often it was seen. Tallies are kept in this module, as in `span-tally.ts`.
 */

/** So many different changes are told apart; later ones count for nothing. */
const CHANGES_MAX = 24;
/** Values before and after, the smaller first, and how often. */
const changes = new Int32Array(3 * CHANGES_MAX);
const tally = { changes: 0, alone: 0, opposed: 0, aloneOnce: 0, opposedOnce: 0 };

export function clearTransitions(): void {
  tally.changes = tally.alone = tally.opposed = tally.aloneOnce = tally.opposedOnce = 0;
}

/** How often the value has gone from one to the other or back, this time included; Infinity where too many changes are known. */
function timesGone(a: number, b: number): number {
  const end = 3 * tally.changes;
  for (let at = 0; at < end; at += 3) if (changes[at] === a && changes[at + 1] === b) return ++changes[at + 2]!;
  if (tally.changes === CHANGES_MAX) return Infinity;
  changes[end] = a;
  changes[end + 1] = b;
  changes[end + 2] = 1;
  tally.changes++;
  return 1;
}

/** Whether one bit moved alone, or several in opposite ways; several the same way say nothing. */
export function addTransition(before: number, value: number): void {
  const differing = before ^ value;
  const times = before < value ? timesGone(before, value) : timesGone(value, before);
  const isAlone = (differing & (differing - 1)) === 0;
  if (isAlone) {
    tally.alone += 1 / times;
    if (times === 1) tally.aloneOnce++;
  } else if ((differing & value) !== 0 && (differing & before) !== 0) {
    tally.opposed += 1 / times;
    if (times === 1) tally.opposedOnce++;
  }
}

/**
 * Half of log2 of how often each kind comes in values against how often in flags, about 0.15 / 0.05 and 0.7 / 0.9: the bits of a span are held
 * against each other in pairs as well (`neighbour-bits.ts`), and see the same moves.
 */
const OPPOSED_BITS = 0.9;
const ALONE_BITS = -0.25;
const MOST_BITS = 12;

const weigh = (alone: number, opposed: number): number =>
  Math.max(-MOST_BITS, Math.min(MOST_BITS, OPPOSED_BITS * opposed + ALONE_BITS * alone));

/** Bits in favour of one number over flags: a number may well move by its lowest bit alone, so only changes count and no repeats. */
export const onenessOfNumber = (): number => weigh(tally.aloneOnce, tally.opposedOnce);
/** Bits in favour of one state over flags. */
export const onenessOfStates = (): number => weigh(tally.alone, tally.opposed);
