/**
 * Flags that tell on which side of a bound a number of the same payload is: "pressed", "standing", "above the limit". Such a flag moves
 * with the number beside it and is taken for a part of it as long as its moves are paid for as if nothing foretold them. Told the bound, they are
 * foretold by the number, but for delays and a dead band: the flag changes in a row where it disagrees with the number, and seldom elsewhere.
 */
import { binaryCost, seldomCost } from './code-length.ts';

/** Bits to say that the flag is of this kind, which number it looks at and in which way. */
const NAMING_BITS = 6;
/** Bounds that are tried: where the number was as the flag moved. */
const BOUNDS_MAX = 8;

/** Bits of the flag's moves, told a bound and the number's course. */
function bitsBeyond(
  values: ArrayLike<number>,
  flag: ArrayLike<number>,
  joined: ArrayLike<number>,
  bound: number,
  isTurned: number,
): number {
  let [changed, unchanged, moved, stayed] = [0, 0, 0, 0];
  for (let row = 1; row < flag.length; row++) {
    if (joined[row] === 0) continue;
    const before = flag[row - 1] as number;
    const foretold = ((values[row] as number) >= bound ? 1 : 0) ^ isTurned;
    const moves = before === flag[row] ? 0 : 1;
    if (before !== foretold) {
      if (moves) changed++;
      else unchanged++;
    } else if (moves) moved++;
    else stayed++;
  }
  return binaryCost(changed, unchanged) + seldomCost(stayed, moved);
}

/**
 * Whether the number mostly comes round where the flag moves. Then the flag is its next bit: that of a value a little about a power of two is foretold by the
 * bits below it as well as any comparator's flag is by its number, which passes its bound in steps.
 */
function comesRound(
  values: ArrayLike<number>,
  length: number,
  flag: ArrayLike<number>,
  joined: ArrayLike<number>,
): boolean {
  const half = 2 ** (length - 1);
  let [round, moves] = [0, 0];
  for (let row = 1; row < flag.length; row++) {
    if (joined[row] === 0 || flag[row] === flag[row - 1]) continue;
    moves++;
    if (Math.abs((values[row] as number) - (values[row - 1] as number)) > half) round++;
  }
  return 2 * round > moves;
}

/**
 * Bits to write the flag down that a number foretells, at the bound that suits it best; Infinity where it never moves
 * or is the number's own next bit.
 * values, flag, joined: [rows]; length: bits of the number
 */
export function boundBits(
  values: ArrayLike<number>,
  length: number,
  flag: ArrayLike<number>,
  joined: ArrayLike<number>,
): number {
  if (comesRound(values, length, flag, joined)) return Infinity;
  const bounds = new Set<number>();
  for (let row = 1; row < flag.length && bounds.size < BOUNDS_MAX; row++)
    if (joined[row] !== 0 && flag[row] !== flag[row - 1] && values[row] !== values[row - 1])
      bounds.add(Math.max(values[row] as number, values[row - 1] as number));
  let least = Infinity;
  for (const bound of bounds)
    for (const isTurned of [0, 1]) least = Math.min(least, bitsBeyond(values, flag, joined, bound, isTurned));
  return NAMING_BITS + length + least;
}
