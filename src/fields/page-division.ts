/**
 * Divides the pages of a payload: first the spans that all pages hold, then those that some hold together, then those of each page. All are
 * chosen among spans that are priced once; and whether there are pages at all is told by what they save.
 */
import { bitPositions } from '../frames/bits.ts';
import type { DivideOptions } from './divide.ts';
import { joinLeaves } from './page-alike.ts';
import { commonSpans, type SinglePages } from './page-common.ts';
import { besideSelectors } from './page-leaves.ts';
import {
  divisionOf,
  finer,
  firstDivisionOf,
  groupOfOne,
  inUsualOrder,
  price,
  pricePages,
  pricesOnPages,
  without,
  type Priced,
  type PricedPages,
} from './page-prices.ts';
import { rowsOfLeaves, samplePages, type PageSample } from './page-sample.ts';
import { leafSets } from './page-sets.ts';
import { cellPages, spansOfLattice } from './page-cells.ts';
import { findLattice, type FoundLattice } from './page-lattice-find.ts';
import { masksOf, pagesAlike, savedBy, type PagesAsked, type PageWorth } from './page-worth.ts';
import { both, claim, either, holds, leftBy } from './mask.ts';
import { movedPart } from './moved-part.ts';
import type { Span } from './segment.ts';
import type { Steps } from './steps.ts';

/** A span and the leaves that hold it. */
export interface PagedSpan {
  readonly span: Span;
  readonly leaves: readonly number[];
  /** The list of cells it is one of. */
  readonly list?: FoundLattice;
}

export interface PageDivision extends PageWorth {
  readonly spans: readonly PagedSpan[];
  /** Whether they hold a list of cells. */
  readonly hasList: boolean;
}

/** Slots for cells that a page of a list has at least. */
const LIST_SLOTS_MIN = 2;

/** Bits, and share of what its bits cost on the pages, that a span must save where some pages hold it together: there are many such sets. */
const SET_BITS = 30;
const SET_SHARE = 0.25;

function savesMuch(span: Span, prices: Float64Array): boolean {
  const onPages = bitPositions(span).reduce((sum, at) => sum + (prices[at] as number), 0);
  return onPages - span.cost.bits >= Math.max(SET_BITS, SET_SHARE * onPages);
}

const singlesOf = (single: readonly Priced[], options: DivideOptions): SinglePages => ({
  rows: single.map(({ rows }) => rows),
  spans: single.map((each) => firstDivisionOf(each, options).spans),
});

/** Spans that some leaves hold together, the largest sets first; `open`: [leaves][bytes] bits left on each, taken from as they are found. */
function* spansOfSets(
  sample: PageSample,
  priced: PricedPages,
  open: Uint8Array[],
  options: DivideOptions,
): Steps<PagedSpan[]> {
  const found: PagedSpan[] = [];
  const freeNow = (leaf: number): Uint8Array => both((priced.single[leaf] as Priced).free, open[leaf] as Uint8Array);
  for (const set of leafSets(
    sample,
    open.map((_, leaf) => freeNow(leaf)),
  )) {
    const leaves = [...set];
    const { rows, leafOf } = rowsOfLeaves(sample, set);
    const usable = leaves.map((leaf) => open[leaf] as Uint8Array).reduce(both);
    const union = leaves.map(freeNow).reduce(either);
    const inTurn = yield* price(rows, both(union, usable), usable);
    const single = leaves.map((leaf) => without(priced.single[leaf] as Priced, open[leaf] as Uint8Array));
    const own = { inTurn, single, groups: leaves.map((_, index) => groupOfOne(index, rows.bytes)) };
    const prices = pricesOnPages(own, options);
    for (const span of commonSpans(inTurn, leafOf, prices, singlesOf(single, options), options)) {
      if (!savesMuch(span, prices)) continue;
      found.push({ span, leaves });
      for (const leaf of leaves) claim(open[leaf] as Uint8Array, span);
    }
  }
  return found;
}

/** The parts of spans that moved on a page and are open there. */
const partsOn = (spans: readonly Span[], free: Uint8Array, open: Uint8Array): Span[] =>
  spans.flatMap((span) => {
    const own = movedPart(span, free);
    return own && holds(open, own) ? [{ ...span, ...own }] : [];
  });

/** Spans that each leaf holds for itself; common: those that all leaves hold. */
function* spansOfPages(
  priced: PricedPages,
  common: readonly Span[],
  open: readonly Uint8Array[],
  options: DivideOptions,
): Steps<PagedSpan[]> {
  const beside = leftBy(new Uint8Array(priced.inTurn.rows.bytes).fill(0xff), common);
  const layouts: (Priced | null)[] = [];
  for (const { leaves, pooled } of priced.groups) {
    const each = pooled && (yield* finer(without(pooled, beside), options));
    const turn = each && leaves.length === open.length ? yield* finer(without(priced.inTurn, beside), options) : null;
    const isTurn = each && turn && firstDivisionOf(turn, options).bits < firstDivisionOf(each, options).bits;
    layouts.push(isTurn ? turn : each);
  }
  const apart: Priced[] = [];
  for (const group of priced.groups)
    for (const leaf of group.leaves)
      apart[leaf] = yield* finer(
        without(priced.single[leaf] as Priced, both(open[leaf] as Uint8Array, group.apart)),
        options,
      );
  const usual = inUsualOrder([...layouts.filter((each) => each !== null), ...apart], common, options);
  return priced.groups.flatMap(({ leaves }, group): PagedSpan[] => {
    const layout = layouts[group] ? divisionOf(layouts[group] as Priced, usual) : null;
    return leaves.flatMap((leaf) => {
      const left = open[leaf] as Uint8Array;
      const spans = divisionOf(apart[leaf] as Priced, usual).spans;
      const alike = layout ? partsOn(layout.spans, both((priced.single[leaf] as Priced).free, left), left) : [];
      return [...alike, ...spans].map((span) => ({ span, leaves: [leaf] }));
    });
  });
}

/** As `dividePages`, each leaf as a page of its own. */
function* divideApart(asked: PagesAsked): Steps<PageDivision> {
  const { rows, leaves, free, usable, quiet, isList, options } = asked;
  const sample = samplePages(rows, leaves);
  yield rows.count;
  const all = leaves.map((_, leaf) => leaf);
  const open = leaves.map((leaf) => both(besideSelectors(usable, leaf), quiet));
  const { list, priced: known } = yield* findLattice(cellPages(sample, open), LIST_SLOTS_MIN, options);
  const cells = list ? spansOfLattice(rows, leaves, open, list) : [];
  const beside = list ? leftBy(quiet, list.lattice.slots) : quiet;
  const masks = masksOf(asked, beside);
  const priced = yield* pricePages(
    sample,
    leaves,
    masks,
    { free: both(free, beside), usable: both(usable, beside) },
    isList,
    known,
    options,
  );
  const prices = pricesOnPages(priced, options);
  const common = commonSpans(priced.inTurn, sample.leafOf, prices, singlesOf(priced.single, options), options);
  const left = masks.usable.map((mask) => leftBy(mask, common));
  const shared = isList ? [] : yield* spansOfSets(sample, priced, left, options);
  const own = yield* spansOfPages(priced, common, left, options);
  return {
    spans: [...common.map((span) => ({ span, leaves: all })), ...cells, ...shared, ...own],
    hasList: list !== null,
    ...savedBy(sample, priced, prices, options),
  };
}

/**
 * Divides the pages; those that go on from one another are divided as one. Not where they hold a list of cells: modules whose cells go alike look
 * like one page, but each number names cells of its own.
 */
export function* dividePages(asked: PagesAsked): Steps<PageDivision> {
  const sets = pagesAlike(asked);
  if (!sets) return yield* divideApart(asked);
  const joined = sets.map((set) => joinLeaves(set, asked.leaves));
  const division = yield* divideApart({ ...asked, leaves: joined });
  if (division.hasList) {
    const apart = yield* divideApart(asked);
    if (apart.hasList) return apart;
  }
  const spans = division.spans.map((each) => ({
    ...each,
    leaves: each.leaves.flatMap((set) => sets[set] as readonly number[]).sort((a, b) => a - b),
  }));
  return { ...division, spans };
}
