/** Clocks, up-times and counts of events. */
import type { Random } from '../../../src/kit/random.ts';
import { chance } from './draw.ts';
import type { Recipe } from './recipe.ts';

const base = {
  coding: 'unsigned',
  kind: 'number',
  blurred: false,
  watches: [],
  scale: null,
  filled: null,
  fillShare: 0,
} as const;

/** A resonator of its own keeps the time, so that a count of time is none of frames. */
const rateOf = (random: Random): number => 1 + random.pick([-1, 1]) * random.between(0.01, 0.03);

export function uptimeRecipe(random: Random): Recipe {
  const unitS = random.pick([0.001, 0.01, 0.1, 1, 1 / 128, 1 / 1024]);
  const rate = rateOf(random);
  const bits = unitS === 1 ? random.pick([8, 16]) : random.pick([16, 24, 32]);
  return {
    ...base,
    bits,
    model: `up-time in ${unitS} s`,
    quantity: null,
    kin: 'since wake',
    open:
      () =>
      ({ awakeS }) =>
        Math.floor((awakeS * rate) / unitS) % 2 ** bits,
  };
}

/** How often a column has changed; it runs round. */
export function changesRecipe(column: string, random: Random): Recipe {
  const bits = random.pick([2, 4, 4, 8]);
  const first = random.below(2 ** bits);
  return {
    ...base,
    bits,
    model: `changes of ${column}`,
    quantity: null,
    kin: 'states',
    open: (trip) => {
      const values = trip.columns.get(column);
      let count = first;
      const counts = values.map((value, row) => (row > 0 && value !== values[row - 1] ? ++count : count));
      return ({ row }) => counts[row]! % 2 ** bits;
    },
  };
}

const DATE = ['second', 'minute', 'hour', 'day', 'month', 'year'] as const;
const LEAST_BITS = { second: 6, minute: 6, hour: 5, day: 5, month: 4, year: 7 } as const;
const SECONDS_OF = { second: 1, minute: 60, hour: 3600 } as const;

const digits = (value: number): number => Math.floor(value / 10) * 16 + (value % 10);

/** Second to year, in decimal digits or as numbers. */
export function clockRecipes(isDecimal: boolean, random: Random): readonly Recipe[] {
  const isWide = isDecimal || chance(random, 0.5);
  const rate = rateOf(random);
  const date = { day: 1 + random.below(28), month: 1 + random.below(12), year: 20 + random.below(12) };
  return DATE.map((part): Recipe => {
    const bits = isWide ? 8 : LEAST_BITS[part];
    const show = (value: number): number => (isDecimal ? digits(value) : value);
    return {
      ...base,
      bits,
      coding: isDecimal ? 'bcd' : 'unsigned',
      model: `clock ${part}`,
      quantity: `clock ${part}`,
      kin: 'clock',
      open: ({ clockS }) =>
        part === 'day' || part === 'month' || part === 'year'
          ? () => show(date[part])
          : ({ timeS }) => show(Math.floor((clockS + timeS * rate) / SECONDS_OF[part]) % (part === 'hour' ? 24 : 60)),
    };
  });
}
