/**
 * Two numbers that stand first in a payload and name its page together: one says which page, the other which page within it. Neither tells all
 * pages apart, so each by itself looks poorer than content behind them that happens to differ from page to page.
 */
import type { Piece } from '../frames/bits.ts';
import { pieceOver } from './mask.ts';
import { turnsOf } from './page-turns.ts';
import type { PayloadRows } from './payload-rows.ts';
import { finerValues, isRun } from './selector-choice.ts';
import { readSmall } from './selector-weigh.ts';

export interface Header {
  readonly outer: Piece;
  readonly inner: Piece;
}

/** Values of each of the two at most; pairs are told by one byte. */
const VALUES_MAX = 16;

const codesOf = (values: Uint8Array): ReadonlyMap<number, number> =>
  new Map([...new Set(values)].sort((a, b) => a - b).map((value, code) => [value, code]));

/** [rows] both numbers as one. */
export function pagesOfHeader(rows: PayloadRows, { outer, inner }: Header): Uint8Array {
  const [outers, inners] = [readSmall(rows, outer), readSmall(rows, inner)];
  const [ofOuter, ofInner] = [codesOf(outers), codesOf(inners)];
  return outers.map((value, row) => VALUES_MAX * (ofOuter.get(value) ?? 0) + (ofInner.get(inners[row] as number) ?? 0));
}

/** Whether the inner number counts on some pages of the outer one and stands still on others. */
function countsOnSomePages(outers: Uint8Array, inners: Uint8Array): boolean {
  const found = finerValues({ pages: outers }, { pages: inners });
  const counting = [...found.values()].filter(({ size }) => size > 1);
  const areRuns = counting.every((own) => {
    const values = [...own].sort((a, b) => a - b);
    return isRun(values) && (values[1] as number) - (values[0] as number) === 1;
  });
  return counting.length > 0 && counting.length < found.size && areRuns;
}

/** The first two bytes that move, where they name pages so, and all pairs come in turn. open: [bytes] bits that moved and nothing holds. */
export function headerOf(rows: PayloadRows, open: Uint8Array): Header | null {
  const [first, second] = [...open.keys()].filter((byte) => (open[byte] as number) !== 0);
  if (first === undefined || second !== first + 1) return null;
  const header: Header = {
    outer: pieceOver(first, open[first] as number),
    inner: pieceOver(second, open[second] as number),
  };
  const [outers, inners] = [readSmall(rows, header.outer), readSmall(rows, header.inner)];
  if (new Set(outers).size > VALUES_MAX || new Set(inners).size > VALUES_MAX) return null;
  if (!countsOnSomePages(outers, inners)) return null;
  return turnsOf(pagesOfHeader(rows, header))?.inTurn ? header : null;
}
