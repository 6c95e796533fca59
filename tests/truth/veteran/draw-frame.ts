/** Draws up one frame of one module. */
import type { Random } from '../../../src/kit/random.ts';
import { createRandom } from '../../../src/kit/random.ts';
import { Board, wholeBytes } from './board.ts';
import { NUMBERS } from './catalog.ts';
import { chance, integer, weighted } from './draw.ts';
import { complementCopy, fill, fillWith } from './fill.ts';
import type { CheckRule } from './guard-style.ts';
import type { FrameLayout, Part, Slot, Timing } from './layout.ts';
import type { Menu } from './menu.ts';
import { numberRecipe } from './number-recipe.ts';
import { drawPages, type Paged } from './pages.ts';
import type { Recipe } from './recipe.ts';
import { ruleFor, takeGuards, takeTag, type Guards } from './take-guards.ts';
import { clockRecipes } from './time-recipe.ts';

export interface FrameWish {
  readonly id: number;
  readonly isExtended: boolean;
  readonly isFd: boolean;
  readonly kind: 'usual' | 'paged' | 'cipher' | 'tagged' | 'wheels' | 'clock';
  /** Share of guards with a rule outside all families. */
  readonly odd: number;
  /** For frames of more than 16 bytes. */
  readonly longRule: CheckRule;
}

const FD_LENGTHS = [12, 16, 20, 24, 32, 48, 64];

function lengthFor({ isFd, kind }: FrameWish, random: Random): number {
  if (isFd) return random.pick(FD_LENGTHS);
  if (kind !== 'usual' || chance(random, 0.75)) return 8;
  return integer(random, 2, 7);
}

const partsOf = (id: number, length: number, random: Random): Part[] =>
  length >= 32 && chance(random, 0.6)
    ? [
        { id, from: 0, to: length / 2 },
        { id: id + 1, from: length / 2, to: length },
      ]
    : [{ id, from: 0, to: length }];

function guard(board: Board, parts: readonly Part[], wish: FrameWish, { house }: Menu, random: Random): Guards {
  const guards: Guards = { counters: [], checks: [] };
  if (wish.kind === 'tagged') {
    parts.forEach((part) => takeTag(board, part, guards, random));
    return guards;
  }
  if (!chance(random, house.guards.share)) return guards;
  const rule = board.bytes > 16 && house.guards.check ? wish.longRule : ruleFor(house.guards, wish.odd, random);
  const counter =
    rule?.secret === 'by counter' || (board.bytes > 16 && rule)
      ? { bits: 4, max: house.guards.counter?.max === 14 ? 14 : 15, step: 1, every: 1 }
      : house.guards.counter;
  parts.forEach((part) => takeGuards(board, part, house.guards, rule, counter, guards, random));
  return guards;
}

function wheelRecipes({ house }: Menu, random: Random): Recipe[] {
  const name = chance(random, 0.75) ? 'wheel' : 'pulses';
  const seed = random.below(2 ** 30);
  return NUMBERS.filter((each) => each.name.startsWith(name)).map((each) =>
    numberRecipe(each, house, createRandom(seed)),
  );
}

function timingFor({ kind, isFd }: FrameWish, slots: readonly Slot[], random: Random): Timing {
  const isQuick =
    kind === 'wheels' || slots.some(({ recipe }) => ['torque', 'yaw', 'angle'].includes(recipe.kin ?? ''));
  // A clock's seconds are no counter: not one in each frame.
  const isSlow = kind === 'clock' || kind === 'cipher';
  const periodS = isQuick
    ? random.pick([0.01, 0.01, 0.02])
    : isSlow
      ? random.pick([0.05, 0.1, 0.2])
      : weighted(random, [
          [1, 0.01],
          [3, 0.02],
          [3, 0.05],
          [5, 0.1],
          [2.5, 0.2],
          [1.5, 0.5],
          [1, 1],
        ]);
  const watched = slots.filter(({ recipe }) => recipe.watches.length > 0);
  const isEvent = kind === 'usual' && !isFd && watched.length > 1 && chance(random, 0.2);
  return {
    periodS: isEvent ? random.pick([0.2, 0.5, 1]) : periodS,
    jitter: random.pick([0.002, 0.01, 0.03]),
    watches: isEvent ? watched.flatMap(({ recipe }) => recipe.watches) : [],
    repeats: integer(random, 0, 3),
  };
}

function slotsFor(board: Board, parts: readonly Part[], wish: FrameWish, menu: Menu, random: Random): Slot[] {
  const { house } = menu;
  const draw = menu.drawer(random);
  const all = { house, page: null, most: 99 };
  if (wish.kind === 'wheels') return fillWith(board, wheelRecipes(menu, random), all);
  if (wish.kind === 'clock') return fillWith(board, clockRecipes(house.decimalClock, random), all);
  const most = chance(random, 0.5) ? 99 : integer(random, 1, 10);
  return parts.flatMap(({ from, to }) => fill(board, draw, { house, page: null, most, within: [from, to] }, random));
}

export function drawFrame(wish: FrameWish, menu: Menu, random: Random): FrameLayout {
  const { house } = menu;
  const length = lengthFor(wish, random);
  const base = { id: wish.id, isExtended: wish.isExtended, isFd: wish.isFd, length, filler: house.filler };
  const none = { slots: [], pager: null, selectors: [], counters: [], checks: [], ciphers: [] };
  if (wish.kind === 'cipher')
    return { ...base, ...none, ciphers: [wholeBytes(0, length, true)], timing: timingFor(wish, [], random) };
  const board = Board.of(length);
  const parts = wish.kind === 'paged' ? [{ id: wish.id, from: 0, to: length }] : partsOf(wish.id, length, random);
  const guards = guard(board, parts, wish, menu, random);
  const paged: Paged | null = wish.kind === 'paged' ? drawPages({ board, menu, house, random }) : null;
  const slots = paged?.slots ?? slotsFor(board, parts, wish, menu, random);
  const copy = paged || !chance(random, 0.06) ? null : complementCopy(board, slots, house, random);
  return {
    ...base,
    slots,
    pager: paged?.pager ?? null,
    selectors: paged?.selectors ?? [],
    counters: [...guards.counters, ...(paged?.counters ?? [])],
    checks: copy ? [copy, ...guards.checks] : guards.checks,
    ciphers: [],
    timing: timingFor(wish, slots, random),
  };
}
