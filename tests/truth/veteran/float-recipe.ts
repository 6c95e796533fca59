/** A number as binary32, as few houses send it. */
import type { Quantity } from './catalog.ts';
import type { Random } from '../../../src/kit/random.ts';
import { chance } from './draw.ts';
import type { Recipe } from './recipe.ts';

const view = new DataView(new ArrayBuffer(4));

/** IEEE 754 binary32 as an unsigned number. */
export function floatBits(value: number): number {
  view.setFloat32(0, value);
  return view.getUint32(0);
}

const QUIET = 0x7fc00000;

export function floatRecipe({ name, kin }: Quantity, random: Random): Recipe {
  const factor = random.pick([1, 1, 0.001, 1 / 3.6]);
  return {
    bits: 32,
    coding: 'float',
    kind: 'number',
    model: name,
    quantity: name,
    kin,
    blurred: false,
    watches: [],
    scale: { step: 1 / factor, offset: 0 },
    filled: chance(random, 0.5) ? 0 : chance(random, 0.5) ? QUIET : null,
    fillShare: 1,
    open: ({ columns }) => {
      const values = columns.get(name);
      return ({ row }) => floatBits(values[row]! * factor);
    },
  };
}
