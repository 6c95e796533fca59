/**
 * What the pages of a payload hold, and whether it has pages at all: where reading it page by page saves too little, what was taken for a
 * selector is none. The fields that several pages hold alike are said once, with all their pages.
 */
import { bitPositions, type Piece } from '../frames/bits.ts';
import type { DivideOptions } from './divide.ts';
import { leftBy } from './mask.ts';
import { dividePages, type PageDivision } from './page-division.ts';
import { findingsOfPages } from './page-findings.ts';
import { leavesOf, type Leaf, type NamedSelector } from './page-leaves.ts';
import { quietBytes } from './page-noise.ts';
import { bitsWithout, worthOfPages, type PagesAsked } from './page-worth.ts';
import { chainRows, type PayloadRows } from './payload-rows.ts';
import { selectorConfidences } from './selector-confidence.ts';
import { isOnAll } from './selector-finding.ts';
import type { Steps } from './steps.ts';
import type { FieldFinding } from './types.ts';

/** Bits that pages must save on the sample, and their share of what it takes without them: far above what chance saves. */
const SAVED_MIN = 40;
const SAVED_SHARE = 0.06;
/** The share where pages go by no list of turns: more by chance is told by one of many bits than by what is sent in turn. */
const UNLISTED_SHARE = 0.15;

/**
 * Whether pages save enough. Where their cells make a list, reading by page saves nothing by itself; values that only rise and fall together, as ramps and what
 * drifts do too, make none, and must save as much as any.
 */
const tellsPages = ({ plainBits, noiseBits, savedBits, hasList }: PageDivision): boolean =>
  hasList || savedBits >= Math.max(SAVED_MIN, SAVED_SHARE * (plainBits - noiseBits));

/** The selectors within pages that save enough on their page. free, usable: as for `fieldsOfPages`. */
function* innerThatTell<T extends NamedSelector>(
  rows: PayloadRows,
  [outer, ...inner]: readonly T[],
  free: Uint8Array,
  usable: Uint8Array,
  options: DivideOptions,
): Steps<T[]> {
  const kept: T[] = [];
  for (const each of inner) {
    const leaves = leavesOf(rows, [outer as T, each]).filter(({ selectors }) => selectors.length > 1);
    const numbers = leaves.flatMap((leaf) => [...leaf.rows]).sort((a, b) => a - b);
    const numberIn = new Map(numbers.map((row, at) => [row, at]));
    const page = chainRows(rows, numbers);
    const within = leaves.map((leaf): Leaf => ({ ...leaf, rows: leaf.rows.map((row) => numberIn.get(row) as number) }));
    const { isList } = each;
    const asked = { rows: page, leaves: within, free, usable, quiet: quietBytes(page, within), isList, options };
    if (tellsPages(yield* dividePages(asked))) kept.push(each);
  }
  return kept;
}

/**
 * Whether a selector lies in cells of the list that the pages hold without it. Cells of a pack rise and fall together, so that the bits of one tell
 * much of the others on its page; but what is a cell on the other pages is one there too. What is sent in turn there is none.
 */
const isInCells = (each: NamedSelector, { spans }: PageDivision): boolean => {
  if (each.inTurn) return false;
  const own = new Set(bitPositions(each as Piece));
  return spans.some(({ list }) => list?.lattice.slots.some((slot) => bitPositions(slot).some((at) => own.has(at))));
};

/**
 * Whether what goes by no list of turns tells more as a selector than as part of a number: the upper bits of a small signed value all show its sign (two's
 * complement, common arithmetic), and each of them tells much of the rest.
 */
function* tellsMoreThanNumber(asked: PagesAsked, selector: Piece): Steps<boolean> {
  const plainBits = yield* bitsWithout(asked, selector);
  const { plainBits: beside, noiseBits, savedBits } = yield* worthOfPages(asked);
  return plainBits - (beside - savedBits) >= Math.max(SAVED_MIN, UNLISTED_SHARE * (plainBits - noiseBits));
}

export interface PagedFields<T> {
  readonly selectors: readonly T[];
  /** By the selectors' names. */
  readonly sure: ReadonlyMap<string, number>;
  readonly fields: readonly FieldFinding[];
}

/**
 * The selectors that hold, and the fields of their pages; null where there are no pages. selectors: the outer one first.
 * free, usable: [bytes] bits that no guard or outer selector holds; free: those that moved.
 */
export function* fieldsOfPages<T extends NamedSelector>(
  rows: PayloadRows,
  selectors: readonly T[],
  free: Uint8Array,
  usable: Uint8Array,
  options: DivideOptions,
): Steps<PagedFields<T> | null> {
  const outer = selectors[0] as T;
  const { isList } = outer;
  const askedBy = (leaves: readonly Leaf[]): PagesAsked => ({
    ...{ rows, leaves, free, usable, isList, options },
    quiet: quietBytes(rows, leaves),
  });
  function* divideBy(held: readonly T[]): Steps<{ leaves: Leaf[]; division: PageDivision }> {
    const leaves = leavesOf(rows, held);
    return { leaves, division: yield* dividePages(askedBy(leaves)) };
  }
  if (!outer.listed) {
    const asked = askedBy(leavesOf(rows, [outer]));
    if (!(yield* tellsMoreThanNumber(asked, outer))) return null;
  }
  const isGrid = selectors.some((each) => isOnAll(each, outer));
  const likely = isGrid ? selectors.slice(1) : yield* innerThatTell(rows, selectors, free, usable, options);
  const alone = isGrid ? null : yield* divideBy([outer]);
  const inner = alone ? likely.filter((each) => !isInCells(each, alone.division)) : likely;
  const held = [outer, ...inner];
  const { leaves, division } = alone && inner.length === 0 ? alone : yield* divideBy(held);
  if (!tellsPages(division)) return null;
  yield rows.count;
  const sure = selectorConfidences(held, free, options.watch);
  const fields = findingsOfPages(rows, leaves, division, leftBy(free, held), { sure, watch: options.watch });
  return { selectors: held, sure, fields };
}
