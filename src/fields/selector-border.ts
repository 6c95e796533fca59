/**
 * What lies over the border of two bytes: a number that counts over it, or the end of one value and the beginning of another. Beside the number of a
 * page any bit of a value behind it that is silent now and then looks as if it told more pages: those on which nothing is said.
 */
import { isRun } from './selector-choice.ts';

/** Share of the times that a carry is due or that the part behind the border changes in which both come together: frames get lost. */
const CARRIED_SHARE = 0.6;

/**
 * Whether a number counts over the border (carrying, common arithmetic): its part behind that changes where the count goes over into it, each time and
 * nowhere else. pages: [rows] its values; values: those, ascending; below: bits of it before the border.
 */
export function countsOver(pages: Uint8Array, values: readonly number[], below: number): boolean {
  if (!isRun(values)) return false;
  const next = new Map(values.map((value, at) => [value, values[(at + 1) % values.length] as number]));
  let [due, carried] = [0, 0];
  pages.forEach((page, row) => {
    const last = row > 0 ? (pages[row - 1] as number) : page;
    const follower = next.get(last) as number;
    const stays = page >> below === last >> below && follower >> below === last >> below;
    if (page === last || stays) return;
    due++;
    if (follower === page) carried++;
  });
  return carried >= CARRIED_SHARE * due;
}
