/** Codes of pages with all their bits. */
import { crossesByte } from '../frames/bits.ts';
import { encloses, isSureRun, type Judged } from './selector-choice.ts';
import { pagesKey } from './selector-finding.ts';
import { type Candidate } from './selector-weigh.ts';

/**
 * Codes without order with all bits of their byte that tell the same pages: what else the byte holds saves less the longer they are, so that all of
 * them may have seemed to tell too little.
 */
export function wholeCode(chosen: Judged, looked: readonly Candidate[]): Judged {
  if (isSureRun(chosen)) return chosen;
  const key = pagesKey(chosen.pages);
  return looked.reduce((whole, { piece, pages, turns }) => {
    const isLonger = piece.lsb.byte === whole.lsb.byte && piece.length > whole.length && encloses(piece, whole);
    if (!isLonger || crossesByte(piece) || pagesKey(pages) !== key) return whole;
    const { values, listed, inTurn } = turns;
    return { ...whole, lsb: piece.lsb, length: piece.length, order: piece.order, pages, values, listed, inTurn };
  }, chosen);
}
