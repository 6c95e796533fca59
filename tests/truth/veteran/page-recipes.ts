/** What pages hold: cells and their temperatures, texts. */
import type { Random } from '../../../src/kit/random.ts';
import { STEP_S } from './columns.ts';
import { chance, clamp, weighted } from './draw.ts';
import type { House } from './house.ts';
import { filledWith, type Recipe } from './recipe.ts';

interface CellStyle {
  readonly bits: number;
  readonly stepV: number;
  readonly filled: number | null;
  readonly noiseV: number;
  readonly isTemperature: boolean;
}

function cellRecipe({ bits, stepV, filled, noiseV, isTemperature }: CellStyle, random: Random): Recipe {
  const [bias, resistance, lagS] = [random.normal() * 0.006, random.normal() * 2e-5, random.between(0.02, 0.3)];
  const warmer = random.normal() * 1.5;
  return {
    bits,
    coding: 'unsigned',
    kind: 'number',
    model: isTemperature ? 'cell temperature' : 'cell',
    quantity: null,
    kin: isTemperature ? 'packTemp' : 'volt',
    blurred: true,
    watches: [],
    scale: null,
    filled,
    fillShare: 1,
    open: ({ columns }, own) => {
      const [mean, current] = [columns.get('cellMean'), columns.get('packCurrent')];
      const pack = columns.get('packTemp');
      const late = Math.round(lagS / STEP_S);
      return ({ row }) => {
        const at = Math.max(0, row - late);
        const volts = mean[at]! + bias - current[at]! * resistance + own.normal() * noiseV;
        const counts = isTemperature ? pack[row]! + warmer + 40 : volts / stepV;
        return clamp(Math.round(counts), 0, 2 ** bits - 2);
      };
    },
  };
}

/** Recipes of as many cells as fill so many bits, for each page. */
export function cellRecipes(pages: number, bits: number, house: House, random: Random): Recipe[][] {
  const isTemperature = chance(random, 0.2);
  const style = isTemperature
    ? { bits: 8, stepV: 1 }
    : weighted(random, [
        [4, { bits: 16, stepV: 0.001 }],
        [2, { bits: 16, stepV: 0.0001 }],
        [2, { bits: 13, stepV: 0.001 }],
        [1, { bits: 12, stepV: 0.0015 }],
        [1, { bits: 10, stepV: 0.005 }],
      ]);
  const cell: CellStyle = {
    ...style,
    isTemperature,
    filled: filledWith(house.filling, style.bits, false),
    noiseV: random.pick([0, 0.0003, 0.001]),
  };
  const many = Math.floor(bits / style.bits);
  return Array.from({ length: pages }, () => Array.from({ length: many }, () => cellRecipe(cell, random)));
}

const LETTERS = 'ABCDEFGHJKLMNPRSTUVWXYZ0123456789';

/** One letter that stays. */
export function textRecipe(random: Random): Recipe {
  const letter = LETTERS.charCodeAt(random.below(LETTERS.length));
  return {
    bits: 8,
    coding: 'text',
    kind: 'text',
    model: 'text',
    quantity: null,
    kin: null,
    blurred: false,
    watches: [],
    scale: null,
    filled: null,
    fillShare: 0,
    open: () => () => letter,
  };
}
