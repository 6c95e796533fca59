/** A field without its place yet, and how its raw values come about. */
import type { KnownCoding, KnownField } from '../fields-truth.ts';
import type { Random } from '../../../src/kit/random.ts';
import type { Filling } from './house.ts';
import type { Trip } from './trip.ts';

export interface Moment {
  /** Of the trip's columns. */
  readonly row: number;
  readonly timeS: number;
  /** Since its module woke. */
  readonly awakeS: number;
}

/** Unsigned, below 2 ^ bits. */
export type Source = (moment: Moment) => number;

export interface Recipe {
  readonly bits: number;
  readonly coding: KnownCoding;
  readonly kind: KnownField['kind'];
  readonly model: string;
  readonly quantity: string | null;
  readonly kin: string | null;
  readonly blurred: boolean;
  /** A number's value in the column's unit is raw * step + offset; null: of no such column, or it runs round. */
  readonly scale: { readonly step: number; readonly offset: number } | null;
  /** Columns that, where they change, may have an event frame sent. */
  readonly watches: readonly string[];
  /** Shown while it is not known; null: what the source says, from the first frame on. */
  readonly filled: number | null;
  /** Known after this share of the module's own time. */
  readonly fillShare: number;
  readonly open: (trip: Trip, random: Random) => Source;
}

/** What a field shows that is not known yet; of signed ones, `half` is the least value, and one below it the greatest. */
export function filledWith(filling: Filling, bits: number, signed: boolean): number | null {
  const ones = 2 ** bits - 1;
  switch (filling) {
    case 'at once':
      return null;
    case 'zeros':
      return 0;
    case 'ones':
      return ones;
    case 'below ones':
      return Math.max(0, ones - 1);
    case 'half':
      return signed || bits > 8 ? 2 ** (bits - 1) : ones;
  }
}
