/** One frame as it was drawn up. */
import type { Placement } from '../../../src/frames/bits.ts';
import type { KnownChecksum, KnownCounter, KnownField, KnownFrame, Presence } from '../fields-truth.ts';
import type { CheckRule } from './guard-style.ts';
import type { Recipe } from './recipe.ts';
import { writerOf } from './board.ts';

export interface Slot {
  readonly place: Placement;
  readonly recipe: Recipe;
  readonly on: Presence;
  /** Indexes of the pages that hold it; null: it is on each frame. */
  readonly pages: ReadonlySet<number> | null;
  readonly write: (bytes: Uint8Array, raw: number) => void;
}

export const slotAt = (place: Placement, recipe: Recipe, page: Page | null): Slot => ({
  place,
  recipe,
  on: page?.on ?? [],
  pages: page ? new Set([page.index]) : null,
  write: writerOf(place),
});

export interface Page {
  readonly index: number;
  readonly on: Presence;
  readonly writes: readonly { readonly place: Placement; readonly value: number }[];
}

export interface Pager {
  readonly pages: readonly Page[];
  /** Indexes of pages, gone through again and again. */
  readonly turn: readonly number[];
}

export interface CounterSlot {
  readonly known: KnownCounter;
  readonly pages: ReadonlySet<number> | null;
  readonly restarts: boolean;
}

/** Of a frame, with guards of its own. */
export interface Part {
  readonly id: number;
  /** Bytes, the last one left out. */
  readonly from: number;
  readonly to: number;
}

export interface CheckSlot {
  readonly known: KnownChecksum;
  /** null: none that can be told from the bytes alone. */
  readonly rule: CheckRule | null;
  readonly part: Part;
  /** Bytes beside the part's own, by the counter. */
  readonly secret: (counter: number) => readonly number[];
  /** counter: that of the same part; fresh: frames so far, over all wakes. Its own bits hold zeros. */
  readonly apply: (bytes: Uint8Array, counter: number, fresh: number) => void;
  /** Index of the counter that it looks at; -1: none. */
  readonly counter: number;
}

export interface Timing {
  readonly periodS: number;
  /** Share of the period. */
  readonly jitter: number;
  /** Columns whose changes send a frame at once; with none it is periodic. */
  readonly watches: readonly string[];
  /** Sent again so often after a change. */
  readonly repeats: number;
}

export interface FrameLayout {
  readonly id: number;
  readonly isExtended: boolean;
  readonly isFd: boolean;
  readonly length: number;
  readonly filler: 0 | 1;
  readonly slots: readonly Slot[];
  readonly pager: Pager | null;
  readonly selectors: KnownFrame['selectors'];
  readonly counters: readonly CounterSlot[];
  readonly checks: readonly CheckSlot[];
  /** Bytes that are drawn anew for each frame. */
  readonly ciphers: readonly Placement[];
  readonly timing: Timing;
}

const fieldOf = ({ place, on, recipe }: Slot): KnownField => {
  const { coding, kind, model, quantity, kin, blurred } = recipe;
  return { place, on, coding, kind, model, quantity, kin, blurred };
};

export const knownOf = (layout: FrameLayout): KnownFrame => ({
  fields: layout.slots.map(fieldOf),
  counters: layout.counters.map(({ known }) => known),
  checksums: layout.checks.map(({ known }) => known),
  selectors: layout.selectors,
  cipher: layout.ciphers,
});
