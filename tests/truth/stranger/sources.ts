/** How a field of a stranger's vehicle shows a quantity: width, coding, scale, noise, dead band, holding, delay; and its raw values on a drive. */
import type { Random } from '../../../src/kit/random.ts';
import { chance, whole } from './draw.ts';
import { isSigned, QUANTITIES, type QuantityName } from './quantities.ts';
import type { Style } from './styles.ts';
import { STEPS_A_SECOND, type World } from './world.ts';

export interface Source {
  readonly quantity: QuantityName;
  readonly width: number;
  readonly coding: 'unsigned' | 'signed' | 'sign-magnitude' | 'float';
  readonly perRaw: number;
  readonly offset: number;
  readonly noise: number;
  readonly holdMs: number;
  readonly lagMs: number;
  /** A shown value stays until the measured one is so far from it. */
  readonly band: number;
  /** All ones until then. */
  readonly startFillS: number;
  readonly gain: number;
  readonly shift: number;
}

export function drawSource(random: Random, quantity: QuantityName, style: Style): Source {
  const { sort, states, low, high, noise, coarse } = QUANTITIES[quantity];
  const base: Source = {
    quantity,
    width: 1,
    coding: 'unsigned',
    perRaw: 1,
    offset: 0,
    noise: 0,
    holdMs: 0,
    lagMs: whole(random, 0, 60),
    band: 0,
    startFillS: chance(random, style.startFill) ? random.between(0.4, 2.4) : 0,
    gain: 1,
    shift: 0,
  };
  if (sort === 'flag') return { ...base, width: style.extended ? 2 : 1, startFillS: 0 };
  if (sort === 'states') return { ...base, width: states <= 3 ? whole(random, 2, 3) : whole(random, 3, 4) };
  if (sort === 'exact') {
    const width = random.pick(quantity === 'odometer' || quantity === 'energy' ? [20, 24, 32] : [16, 24, 32]);
    return { ...base, width, perRaw: quantity === 'odometer' ? random.pick([1, 5, 10, 100]) : 1 };
  }
  let width = Math.min(16, random.pick(style.widths));
  if (coarse) width = Math.min(width, random.pick([8, 8, 10, 12]));
  const coding = isSigned(quantity) ? random.pick(style.signs) : 'unsigned';
  if (coding === 'float') return { ...base, width: 32, coding, noise };
  const span = coding === 'unsigned' ? high - low : 2 * Math.max(high, -low);
  return {
    ...base,
    width,
    coding,
    perRaw: (span * random.pick([1, 1, 1.5, 2, 4])) / (2 ** width - 2),
    offset: coding === 'unsigned' ? low : 0,
    noise: chance(random, 0.3) ? 0 : noise * random.between(0.5, 1.5),
    holdMs: random.pick([0, 0, 0, 20, 50, 100, 500]),
    band: chance(random, 0.15) ? noise * 3 : 0,
    gain: 1 + random.normal() * 0.01,
    shift: noise * random.normal() * 2,
  };
}

const bitsOfFloat = new DataView(new ArrayBuffer(4));

/** Rounds to the field's raw bits; one step below the ends, which mean that nothing is known. */
function rawOf({ coding, width, offset, perRaw }: Source, value: number): number {
  if (coding === 'float') {
    bitsOfFloat.setFloat32(0, value);
    return bitsOfFloat.getUint32(0);
  }
  const top = 2 ** width;
  const raw = Math.round((value - offset) / perRaw);
  if (coding === 'unsigned') return Math.max(0, Math.min(top - 2, raw));
  const within = Math.max(-top / 2 + 1, Math.min(top / 2 - 1, raw));
  if (coding === 'signed') return (within + top) % top;
  return within < 0 ? top / 2 - within : within;
}

/** Gives the raw bits at a moment; moments must not go back. */
export function readerOf(source: Source, world: World, random: Random): (timeS: number) => number {
  const { quantity, width, perRaw, noise, holdMs, lagMs, band, startFillS, gain, shift } = source;
  const { sort, low } = QUANTITIES[quantity];
  const column = world[quantity];
  const top = 2 ** width;
  let heldAtS = -1e9;
  let held = 0;
  let value = Number.NaN;
  const measured = (timeS: number): number => {
    const step = Math.round((timeS - lagMs / 1000) * STEPS_A_SECOND);
    const now = column[Math.max(0, Math.min(column.length - 1, step))] as number;
    if (sort === 'flag' || sort === 'states') return now;
    if (sort === 'exact') return Math.floor(now / perRaw) % top;
    const seen = now === 0 && low === 0 ? 0 : now * gain + shift + random.normal() * noise;
    if (Number.isNaN(value) || Math.abs(seen - value) >= band) value = seen;
    return rawOf(source, value);
  };
  return (timeS) => {
    if (timeS < startFillS) return top - 1;
    if ((timeS - heldAtS) * 1000 < holdMs) return held;
    heldAtS = timeS;
    held = measured(timeS);
    return held;
  };
}
