/** A house: one supplier's habits, the same on all frames of its modules. Common practice, no source. */
import type { ByteOrder } from '../../../src/frames/bits.ts';
import type { Random } from '../../../src/kit/random.ts';
import { chance, weighted } from './draw.ts';
import { drawGuardStyle, type GuardStyle } from './guard-style.ts';

/** What a value that is not known yet shows. */
export type Filling = 'ones' | 'zeros' | 'below ones' | 'at once' | 'half';

export interface House {
  readonly order: ByteOrder;
  /** Share of frames with a part in the other order. */
  readonly mixed: number;
  readonly layout: 'tight' | 'nibbles' | 'bytes';
  /** Share of borders with unused bits behind them, and what these show. */
  readonly gaps: number;
  readonly filler: 0 | 1;
  /** Widths of numbers: as few bits as do, or a byte or two. */
  readonly widths: 'least' | 'roomy' | 'whole bytes';
  readonly signs: 'two' | 'offset' | 'magnitude';
  readonly flagBits: 1 | 2;
  readonly filling: Filling;
  readonly fillS: readonly [number, number];
  /** Share of fields that are right at once. */
  readonly atOnce: number;
  readonly resolution: 'decimal' | 'binary';
  readonly quirks: number;
  readonly guards: GuardStyle;
  readonly decimalClock: boolean;
  /** Some numbers are binary32. */
  readonly floats: boolean;
  /** The greatest raw value that is a value, of 1; above are codes for errors and for what is not there. */
  readonly top: number;
}

export interface HouseOptions {
  readonly guarded: number;
  readonly trucks: boolean;
}

export function drawHouse(random: Random, { guarded, trucks }: HouseOptions): House {
  const order: ByteOrder = trucks || chance(random, 0.5) ? 'little' : 'big';
  const layout = trucks
    ? 'bytes'
    : weighted(random, [
        [4, 'tight'],
        [2, 'nibbles'],
        [3, 'bytes'],
      ] as const);
  const lowS = random.between(0.1, 0.8);
  return {
    order,
    mixed: weighted(random, [
      [3, 0],
      [2, 0.12],
      [1, 0.5],
    ]),
    layout,
    gaps: random.pick([0, 0.05, 0.15, 0.35]),
    filler: trucks || chance(random, 0.35) ? 1 : 0,
    widths:
      layout === 'bytes'
        ? weighted(random, [
            [3, 'whole bytes'],
            [1, 'roomy'],
          ] as const)
        : random.pick(['least', 'roomy'] as const),
    signs: trucks
      ? 'offset'
      : weighted(random, [
          [5, 'two'],
          [3, 'offset'],
          [1, 'magnitude'],
        ] as const),
    flagBits: trucks || chance(random, 0.25) ? 2 : 1,
    filling: trucks
      ? 'ones'
      : weighted(random, [
          [4, 'ones'],
          [3, 'zeros'],
          [1, 'below ones'],
          [2, 'at once'],
          [1, 'half'],
        ] as const),
    fillS: [lowS, lowS + random.between(0.1, 2.2)],
    atOnce: random.between(0.1, 0.6),
    resolution: random.pick(['decimal', 'binary'] as const),
    quirks: random.between(0.05, 0.35),
    guards: drawGuardStyle(random.fork('guards'), guarded, trucks),
    decimalClock: chance(random, 0.5),
    floats: layout === 'bytes' && !trucks && chance(random, 0.25),
    top: trucks ? 250 / 255 : 1,
  };
}
