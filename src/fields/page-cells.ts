/** The cells of a list as spans, as far as each moved, and as findings. */
import { logistic } from '../kit/statistics/distributions.ts';
import { both, holds } from './mask.ts';
import { movedPart } from './moved-part.ts';
import type { CellPage } from './page-lattice.ts';
import type { FoundLattice } from './page-lattice-find.ts';
import type { Leaf } from './page-leaves.ts';
import type { PageSample } from './page-sample.ts';
import { chainRows, movedMask, type PayloadRows } from './payload-rows.ts';
import type { Span } from './segment.ts';
import type { FieldFinding } from './types.ts';

/** The sampled rows of each page. open: [leaves][bytes] bits that nothing else holds. */
export const cellPages = ({ pages }: PageSample, open: readonly Uint8Array[]): CellPage[] =>
  pages.map((rows, leaf) => {
    const usable = open[leaf] as Uint8Array;
    return { rows, usable, free: both(movedMask(rows), usable) };
  });

const NUMBER = { bits: 0, model: 'number', pairs: 0, moves: 0, isFilled: false } as const;

/** Cells of one page. */
export function cellsMoved(list: FoundLattice, rows: PayloadRows, usable: Uint8Array): Span[] {
  const free = both(movedMask(rows), usable);
  return list.lattice.slots.flatMap((slot) => {
    const piece = holds(usable, slot) ? movedPart(slot, free) : null;
    return piece
      ? [{ ...piece, cost: NUMBER, margin: list.savedBits, orderMargin: list.savedBits, rival: 'cut', touching: 0 }]
      : [];
  });
}

/** Cells of all the pages of a list. rows: all rows; open: as for `cellPages`. */
export const spansOfLattice = (
  rows: PayloadRows,
  leaves: readonly Leaf[],
  open: readonly Uint8Array[],
  list: FoundLattice,
): { span: Span; leaves: number[]; list: FoundLattice }[] =>
  list.pages.flatMap((leaf) =>
    cellsMoved(list, chainRows(rows, (leaves[leaf] as Leaf).rows), open[leaf] as Uint8Array).map((span) => ({
      span,
      leaves: [leaf],
      list,
    })),
  );

/** Set by hand; see `listConfidence`. */
const SUREST = 0.99;
/** Two values a page lie at one pitch by chance; of the lists seen that were none at all and saved much, all were such. */
const SUREST_OF_TWO = 0.7;
/** So do values of whole bytes: of ten lists of such, one was none. */
const SUREST_OF_BYTES = 0.85;
const BYTE_BITS = 8;
/** Cells that several pages were taken to hold in common: modules whose cells look alike; of 75, none was right. */
const SUREST_OF_JOINED = 0.2;
/** So little saved in all may be chance among many lattices: of nine lists that saved less than this share, three were whole. */
const LITTLE_SHARE = 1 / 30;
const SUREST_OF_LITTLE = 0.6;

/**
 * 0..1 how sure the cells of a list are, by what reading them as cells saves. By hand: of 1052 cells on the
 * captures of four makers 1009 were right; of 96 on others that saved less 72.
 */
function listConfidence({ savedBits, plainBits, lattice }: FoundLattice, isJoined: boolean): number {
  const { slots, pitch } = lattice;
  const surest = Math.min(
    slots.length > 2 ? SUREST : SUREST_OF_TWO,
    pitch === BYTE_BITS ? SUREST_OF_BYTES : SUREST,
    isJoined ? SUREST_OF_JOINED : SUREST,
    savedBits < LITTLE_SHARE * plainBits ? SUREST_OF_LITTLE : SUREST,
  );
  const odds = 12 * (savedBits / plainBits) + savedBits / 400;
  return Math.round(100 * Math.min(surest, logistic(odds))) / 100;
}

const isJoined = ({ when }: FieldFinding): boolean => Object.values(when ?? {}).some((values) => values.length > 1);

/** A field as one of a list of cells. */
export function asCell(field: FieldFinding, list: FoundLattice): FieldFinding {
  const { pitch, order, slots, start } = list.lattice;
  const where = start === null ? 'at an uneven pitch' : 'one behind the other';
  const why =
    `One of a list of ${slots.length} cells of ${pitch} bits each, ${where}, ${order}: read as cells that move alike, ` +
    `${list.cells} of them take ${Math.round((100 * list.savedBits) / list.plainBits)} % less to write down than any other division.`;
  return { ...field, kind: 'number', confidence: listConfidence(list, isJoined(field)), why };
}
