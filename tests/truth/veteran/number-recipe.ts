/** Numbers as a house sends them: resolution, offset, sign, width, and the quirks of some. */
import type { KnownCoding } from '../fields-truth.ts';
import type { Random } from '../../../src/kit/random.ts';
import type { Quantity } from './catalog.ts';
import { STEP_S } from './columns.ts';
import { chance, clamp, spread, weighted } from './draw.ts';
import type { House } from './house.ts';
import { filledWith, type Moment, type Recipe, type Source } from './recipe.ts';
import type { Trip } from './trip.ts';

/** How a raw value comes from a value of the column. */
interface Scale {
  readonly bits: number;
  readonly coding: KnownCoding;
  readonly step: number;
  /** Value of raw 0. */
  readonly offset: number;
  readonly least: number;
  readonly most: number;
  readonly wraps: boolean;
}

interface Quirks {
  /** Its frames between updates, 1: each. */
  readonly every: number;
  readonly delayS: number;
  /** Time constant of a filter of its own; 0: none. */
  readonly lagS: number;
  /** Raw counts. */
  readonly noise: number;
  readonly deadBand: number;
  /** Raw values are multiples of this. */
  readonly multiple: number;
  /** Share of the range beyond which it stays; 1: none. */
  readonly limit: number;
  /** Mean seconds between failures of the sensor, in which it shows what is shown before it is known; 0: none. */
  readonly failS: number;
}

const WHOLE = [8, 16, 24, 32];

function widthFor(counts: number, house: House, random: Random): number {
  const least = Math.max(1, Math.ceil(Math.log2(counts + 2)));
  if (house.widths === 'least') return least;
  if (house.widths === 'roomy') return Math.min(32, least + random.below(3));
  return WHOLE.find((bits) => bits >= least) ?? 32;
}

const isBinary = (step: number): boolean => Number.isInteger(Math.log2(step));

function scaleOf(quantity: Quantity, house: House, random: Random): Scale {
  const { low, high, wraps = false } = quantity;
  const liked = quantity.steps.filter((each) => isBinary(each) === (house.resolution === 'binary'));
  const step = random.pick(liked.length > 0 && chance(random, 0.7) ? liked : quantity.steps);
  const counts = Math.ceil((high - low) / step);
  const isSigned = low < 0 && !(quantity.slow && chance(random, 0.8)) && house.signs !== 'offset';
  if (wraps) {
    const bits =
      low === 0 && step === 1 && high === 255 ? random.pick([8, 8, 10, 12, 16]) : Math.ceil(Math.log2(counts));
    return { bits, coding: 'unsigned', step, offset: 0, least: 0, most: Infinity, wraps };
  }
  if (!isSigned) {
    const bits = widthFor(counts, house, random);
    const offset = low < 0 && !quantity.slow && chance(random, 0.4) ? -(2 ** (bits - 1)) * step : low;
    const most = bits >= 8 ? Math.floor(house.top * 2 ** bits) - 2 : 2 ** bits - 2;
    return { bits, coding: 'unsigned', step, offset, least: 0, most, wraps };
  }
  const bits = widthFor(2 * Math.ceil(Math.max(-low, high) / step), house, random);
  const most = 2 ** (bits - 1) - 2;
  const coding = house.signs === 'magnitude' ? 'sign-magnitude' : 'signed';
  return { bits, coding, step, offset: 0, least: -most, most, wraps };
}

function quirksOf(quantity: Quantity, house: House, random: Random): Quirks {
  const has = (share: number): boolean => chance(random, share * house.quirks);
  const plain = quantity.wraps === true || quantity.kin === 'road' || quantity.kin === 'energy';
  return {
    every: has(0.6) ? random.pick([2, 5, 10]) : 1,
    delayS: has(0.6) ? spread(random, 0.01, 0.3) : 0,
    lagS: !plain && has(0.6) ? spread(random, 0.05, 2) : 0,
    noise: !plain && has(0.7) ? spread(random, 0.3, 6) : 0,
    deadBand: !plain && has(0.3) ? random.pick([2, 3, 5]) : 0,
    multiple: !plain && has(0.5) ? random.pick([2, 4, 5, 8, 10]) : 1,
    limit: !plain && has(0.3) ? random.between(0.1, 0.5) : 1,
    failS: !plain && has(0.3) ? spread(random, 10, 60) : 0,
  };
}

export function rawOf({ bits, coding, wraps, least, most }: Scale, counts: number): number {
  const size = 2 ** bits;
  if (wraps) return ((counts % size) + size) % size;
  const held = clamp(counts, least, most);
  if (coding === 'sign-magnitude') return held < 0 ? size / 2 - held : held;
  return held < 0 ? held + size : held;
}

/** Values of the column, filtered, in steps of the scale but not rounded yet. */
function smoothed(column: Float64Array, { step, offset, wraps }: Scale, { lagS }: Quirks): Float64Array {
  const out = new Float64Array(column.length);
  let slow = column[0]!;
  for (let row = 0; row < out.length; row++) {
    slow += lagS > 0 && !wraps ? ((column[row]! - slow) * STEP_S) / lagS : column[row]! - slow;
    out[row] = (slow - offset) / step;
  }
  return out;
}

function sourceOf(trip: Trip, column: string, scale: Scale, quirks: Quirks, filled: number, random: Random): Source {
  const values = smoothed(trip.columns.get(column), scale, quirks);
  const late = Math.round(quirks.delayS / STEP_S);
  const roof = quirks.limit < 1 ? scale.least + (scale.most - scale.least) * quirks.limit : scale.most;
  let [held, shown, failUntilS, calls] = [Number.NaN, 0, -1, 0];
  return ({ row, timeS }: Moment) => {
    if (calls++ % quirks.every !== 0) return shown;
    const noise = quirks.noise > 0 ? random.normal() * quirks.noise : 0;
    const value = Math.min(values[Math.max(0, row - late)]! + noise, roof);
    const counts = scale.wraps ? Math.floor(value) : Math.round(value / quirks.multiple) * quirks.multiple;
    if (!(Math.abs(counts - held) < quirks.deadBand)) held = counts;
    if (quirks.failS > 0 && chance(random, 0.02 / quirks.failS)) failUntilS = timeS + random.between(0.2, 3);
    shown = timeS < failUntilS ? filled : rawOf(scale, held);
    return shown;
  };
}

/** bias: of this one copy, in the column's unit; such a copy is only kin of others. */
export function numberRecipe(quantity: Quantity, house: House, random: Random): Recipe {
  const scale = scaleOf(quantity, house, random);
  const quirks = quirksOf(quantity, house, random);
  const column = quantity.column ?? quantity.name;
  const isSigned = scale.coding !== 'unsigned';
  const filling = chance(random, 0.2)
    ? weighted(random, [
        [1, 'zeros'],
        [1, 'ones'],
        [1, 'at once'],
      ] as const)
    : house.filling;
  const greatest = isSigned && filling === 'ones' && chance(random, 0.6) ? 2 ** (scale.bits - 1) - 1 : null;
  const filled = greatest ?? filledWith(filling, scale.bits, isSigned);
  return {
    bits: scale.bits,
    coding: scale.coding,
    kind: 'number',
    model: column,
    quantity: scale.wraps || quirks.limit < 1 ? null : column,
    kin: quantity.kin,
    blurred: quirks.noise > 0 || quirks.deadBand > 0 || quirks.lagS > 0 || quirks.failS > 0,
    watches: [],
    scale: scale.wraps ? null : { step: scale.step, offset: scale.offset },
    filled,
    fillShare: chance(random, house.atOnce) ? 0 : random.pick([1, 1, 1, 0.4, 1.3]),
    open: (trip, own) => sourceOf(trip, column, scale, quirks, filled ?? 2 ** scale.bits - 1, own),
  };
}
