/** What one identifier of a stranger's vehicle holds: values, counters, guards, selectors, ciphertext. Plain data. */
import type { Placement } from '../../../src/frames/bits.ts';
import type { Source } from './sources.ts';
import type { GuardKind } from './styles.ts';

export type Content =
  | { readonly from: 'world'; readonly source: Source; readonly cell: boolean }
  | { readonly from: 'noise' }
  | { readonly from: 'text'; readonly character: number };

export interface Item {
  readonly place: Placement;
  readonly content: Content;
  /** Values of the selector and of the inner one; null: on all. */
  readonly pages: readonly number[] | null;
  readonly inner: number | null;
}

export interface CounterPlan {
  readonly place: Placement;
  readonly step: number;
  readonly min: number;
  readonly max: number;
  readonly every: number;
  readonly onChange: boolean;
}

/** Parameters as a CRC's; sums and exclusive ors take the start or the end of them. */
export interface HouseRule {
  readonly poly: number;
  readonly init: number;
  readonly xorout: number;
  readonly reflected: boolean;
}

export interface GuardPlan {
  readonly place: Placement;
  readonly kind: GuardKind;
  readonly covers: readonly number[];
  readonly rule: HouseRule;
  readonly prefix: readonly number[];
  readonly suffix: readonly number[];
  /** [16] one more byte by counter. */
  readonly table: readonly number[] | null;
  readonly key: number;
}

export interface SelectorPlan {
  readonly place: Placement;
  readonly turn: readonly number[];
  /** So many frames of one page after the other. */
  readonly slow: number;
  readonly inner: { readonly place: Placement; readonly page: number; readonly turn: readonly number[] } | null;
}

export interface Layout {
  readonly bus: string;
  readonly id: number;
  readonly extended: boolean;
  readonly fd: boolean;
  readonly length: number;
  readonly periodMs: number;
  /** Share of the period that a stamp may be late. */
  readonly jitter: number;
  readonly fill: Uint8Array;
  readonly items: Item[];
  readonly counters: CounterPlan[];
  readonly guards: GuardPlan[];
  selector: SelectorPlan | null;
  cipher: Placement | null;
}
