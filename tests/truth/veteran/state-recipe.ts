/** States and flags as a house sends them. */
import type { Random } from '../../../src/kit/random.ts';
import { STEP_S } from './columns.ts';
import { chance, integer, weighted } from './draw.ts';
import type { House } from './house.ts';
import { filledWith, type Recipe, type Source } from './recipe.ts';
import type { Trip } from './trip.ts';

const bit = {
  bits: 1,
  coding: 'unsigned',
  kind: 'flag',
  quantity: null,
  kin: 'states',
  watches: [],
  scale: null,
  filled: null,
  fillShare: 0,
} as const;

interface Coded {
  readonly column: string;
  /** Raw by the column's value. */
  readonly codes: readonly number[];
  /** Shown for so long after a change; null: none is. */
  readonly between: { readonly code: number; readonly forS: number } | null;
  readonly delayS: number;
}

function sourceOf(trip: Trip, { column, codes, between, delayS }: Coded): Source {
  const values = trip.columns.get(column);
  const late = Math.round(delayS / STEP_S);
  let [state, sinceS] = [-1, -100];
  return ({ row, timeS }) => {
    const now = values[Math.max(0, row - late)]!;
    if (now !== state) sinceS = state < 0 ? -100 : timeS;
    state = now;
    return between && timeS - sinceS < between.forS ? between.code : (codes[state] ?? 0);
  };
}

function codesOf(count: number, bits: number, random: Random): number[] {
  const size = 2 ** bits;
  const way = weighted(random, [
    [5, 'in turn'],
    [3, 'any'],
    [1, 'one bit each'],
  ] as const);
  if (way === 'one bit each' && bits >= count) return Array.from({ length: count }, (_, index) => 1 << index);
  if (way === 'any') return random.shuffle(Array.from({ length: size - 1 }, (_, code) => code)).slice(0, count);
  const first = count + 1 < size && chance(random, 0.4) ? 1 : 0;
  return Array.from({ length: count }, (_, index) => first + index);
}

const delay = (random: Random): number => (chance(random, 0.5) ? 0 : random.between(0.01, 0.25));

export function stateRecipe(column: string, count: number, house: House, random: Random): Recipe {
  const least = Math.ceil(Math.log2(count + 1));
  const bits =
    least +
    weighted(random, [
      [5, 0],
      [2, 1],
      [1, 2],
    ]);
  const codes = codesOf(count, bits, random);
  const free = Array.from({ length: 2 ** bits - 1 }, (_, code) => code).filter((code) => !codes.includes(code));
  const between =
    free.length > 0 && chance(random, 0.2) ? { code: random.pick(free), forS: random.between(0.05, 0.4) } : null;
  const coded = { column, codes, between, delayS: delay(random) };
  return {
    bits,
    coding: 'unsigned',
    kind: 'states',
    model: column,
    quantity: null,
    kin: 'states',
    blurred: false,
    watches: [column],
    scale: null,
    filled: filledWith(house.filling, bits, false),
    fillShare: chance(random, house.atOnce) ? 0 : 1,
    open: (trip) => sourceOf(trip, coded),
  };
}

/** One bit, or two of which 3 says that it is not known. */
export function flagRecipe(column: string, house: House, random: Random): Recipe {
  const bits = chance(random, 0.85) ? house.flagBits : 3 - house.flagBits;
  const isTurned = bits === 1 && chance(random, 0.1);
  const coded = { column, codes: isTurned ? [1, 0] : [0, 1], between: null, delayS: delay(random) };
  return {
    bits,
    coding: 'unsigned',
    kind: bits === 1 ? 'flag' : 'states',
    model: column,
    quantity: null,
    kin: 'states',
    blurred: false,
    watches: [column],
    scale: null,
    filled: bits === 2 ? filledWith(house.filling, bits, false) : chance(random, 0.15) ? 1 : null,
    fillShare: chance(random, house.atOnce) ? 0 : 1,
    open: (trip) => sourceOf(trip, coded),
  };
}

/** A flag that tells on which side of a bound a number is. */
export function boundRecipe(column: string, low: number, high: number, random: Random): Recipe {
  const bound = low + (high - low) * random.between(0.02, 0.25);
  return {
    ...bit,
    model: `${column} beyond a bound`,
    blurred: true,
    open: (trip) => {
      const values = trip.columns.get(column);
      return ({ row }) => (values[row]! > bound ? 1 : 0);
    },
  };
}

/** Flags that one thing switches at the same instant. */
export function togetherRecipes(column: string, count: number, random: Random): Recipe[] {
  const delayS = delay(random);
  return Array.from({ length: count }, (_, index): Recipe => {
    const coded = { column, codes: chance(random, 0.2) ? [1, 0] : [0, 1], between: null, delayS };
    return {
      ...bit,
      model: `${column} ${index + 1} of ${count} together`,
      blurred: false,
      watches: [column],
      open: (trip) => sourceOf(trip, coded),
    };
  });
}

/** Whether the number beside it is known. */
export function validRecipe({ model, fillShare }: Recipe, random: Random): Recipe {
  const known = chance(random, 0.7) ? 1 : 0;
  return { ...bit, model: `${model} is known`, blurred: false, filled: 1 - known, fillShare, open: () => () => known };
}

/** Always the same, once it is known. */
export function constantRecipe(house: House, random: Random): Recipe {
  const bits = weighted(random, [
    [4, 1],
    [2, 2],
    [2, 4],
    [3, 8],
  ]);
  const value = chance(random, 0.7) ? 0 : integer(random, 0, 2 ** bits - 1);
  return {
    bits,
    coding: 'unsigned',
    kind: bits === 1 ? 'flag' : 'number',
    model: 'constant',
    quantity: null,
    kin: null,
    blurred: false,
    watches: [],
    scale: null,
    filled: chance(random, 0.3) ? filledWith(house.filling, bits, false) : null,
    fillShare: 1,
    open: () => () => value,
  };
}
