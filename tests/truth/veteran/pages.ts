/** Frames with pages: cells, groups within modules, kinds of message by turns, texts. */
import type { Placement } from '../../../src/frames/bits.ts';
import type { Random } from '../../../src/kit/random.ts';
import type { Presence } from '../fields-truth.ts';
import type { Board } from './board.ts';
import { chance, integer, spread, weighted } from './draw.ts';
import { fill, fillWith } from './fill.ts';
import type { House } from './house.ts';
import type { CounterSlot, Page, Pager, Slot } from './layout.ts';
import type { Menu } from './menu.ts';
import { cellRecipes, textRecipe } from './page-recipes.ts';
import { codesFor, selectorFor, turnOf } from './selectors.ts';
import { counterSlot } from './take-guards.ts';

export interface Paged {
  readonly pager: Pager;
  readonly selectors: readonly { readonly place: Placement; readonly on: Presence }[];
  readonly slots: readonly Slot[];
  readonly counters: readonly CounterSlot[];
}

type PageKind = 'cells' | 'kinds' | 'kind and index' | 'grid' | 'text';

interface Ground {
  readonly board: Board;
  readonly menu: Menu;
  readonly house: House;
  readonly random: Random;
}

const pageOn = (index: number, picks: readonly (readonly [Placement, number])[]): Page => ({
  index,
  on: picks.map(([place, value]) => ({ place, values: [value] })),
  writes: picks.map(([place, value]) => ({ place, value })),
});

function pageCounters(board: Board, pages: readonly Page[], house: House): CounterSlot[] {
  const spot = board.fit(4, house.order, 'bytes', 0, board.bytes * 8);
  const rule = { bits: 4, max: 15, step: 1, every: 1 };
  return spot ? pages.map(({ index, on }) => counterSlot(spot.place, rule, true, on, new Set([index]))) : [];
}

function cellPages(pages: readonly Page[], { board, house, random }: Ground): Slot[] {
  const recipes = cellRecipes(pages.length, board.bytes * 8, house, random);
  return pages.flatMap((page, index) => fillWith(board.copy(), recipes[index]!, { house, page, most: 99 }));
}

function kindPages(pages: readonly Page[], { board, house, menu, random }: Ground): Slot[] {
  return pages.flatMap((page) => {
    const most = integer(random, 1, 7);
    return fill(board.copy(), menu.drawer(random), { house, page, most }, random);
  });
}

function single(kind: PageKind, ground: Ground): Paged | null {
  const { board, house, random } = ground;
  const count =
    kind === 'cells'
      ? Math.round(spread(random, 4, 26))
      : kind === 'text'
        ? integer(random, 3, 6)
        : integer(random, 2, 9);
  const place = selectorFor(board, count, 0, random);
  if (!place) return null;
  const codes = codesFor(count, place.length, random);
  const pages = codes.map((code, index) => pageOn(index, [[place, code]]));
  const counters = kind === 'kinds' && chance(random, 0.25) ? pageCounters(board, pages, house) : [];
  const slots =
    kind === 'cells'
      ? cellPages(pages, ground)
      : kind === 'text'
        ? pages.flatMap((page) =>
            fillWith(
              board.copy(),
              Array.from({ length: board.bytes }, () => textRecipe(random)),
              { house, page, most: 99 },
            ),
          )
        : kindPages(pages, ground);
  return { pager: { pages, turn: turnOf(count, random) }, selectors: [{ place, on: [] }], slots, counters };
}

/** One kind of message has an index of its own; the others use its bits for values. */
function kindAndIndex(ground: Ground): Paged | null {
  const { board, random } = ground;
  const kinds = integer(random, 2, 4);
  const kind = selectorFor(board, kinds, 0, random);
  if (!kind) return null;
  const codes = codesFor(kinds, kind.length, random);
  const inner = board.copy();
  const groups = integer(random, 3, 10);
  const index = selectorFor(inner, groups, 0, random);
  if (!index) return null;
  const onKind: Presence = [{ place: kind, values: [codes[0]!] }];
  const indexed = codesFor(groups, index.length, random).map((code, at) =>
    pageOn(at, [
      [kind, codes[0]!],
      [index, code],
    ]),
  );
  const others = codes.slice(1).map((code, at) => pageOn(groups + at, [[kind, code]]));
  const slots = [...cellPages(indexed, { ...ground, board: inner }), ...kindPages(others, ground)];
  const turn = indexed.flatMap((_, at) => [at, groups + (at % others.length)]);
  return {
    pager: {
      pages: [...indexed, ...others],
      turn: chance(random, 0.5) ? turn : turnOf(groups + others.length, random),
    },
    selectors: [
      { place: kind, on: [] },
      { place: index, on: onKind },
    ],
    slots,
    counters: [],
  };
}

/** Each group of each module has a page. */
function grid(ground: Ground): Paged | null {
  const { board, random } = ground;
  const [modules, groups] = [integer(random, 2, 4), integer(random, 2, 6)];
  const outer = selectorFor(board, modules, 0, random);
  const inner = selectorFor(board, groups, 0, random);
  if (!outer || !inner) return null;
  const groupCodes = codesFor(groups, inner.length, random);
  const pages = codesFor(modules, outer.length, random)
    .flatMap((module) => groupCodes.map((group) => [module, group] as const))
    .map(([module, group], at) =>
      pageOn(at, [
        [outer, module],
        [inner, group],
      ]),
    );
  return {
    pager: { pages, turn: pages.map(({ index }) => index) },
    selectors: [
      { place: outer, on: [] },
      { place: inner, on: [] },
    ],
    slots: cellPages(pages, ground),
    counters: [],
  };
}

/** null where there is no room for a selector. */
export function drawPages(ground: Ground): Paged | null {
  const kind = weighted(ground.random, [
    [4, 'kinds'],
    [4, 'cells'],
    [1.5, 'kind and index'],
    [1, 'grid'],
    [0.8, 'text'],
  ] as const);
  if (kind === 'kind and index') return kindAndIndex(ground);
  if (kind === 'grid') return grid(ground);
  return single(kind, ground);
}
