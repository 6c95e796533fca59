/** What the judges of a signal's place tell each other. */
import type { ProofAspect } from './types.ts';

export interface PlaceJudgement extends Omit<ProofAspect, 'aspect'> {
  /** Rows where it shows. */
  readonly strange: readonly number[];
}

/** Bits that some entry of the map holds on frames of this page. */
export type TakenBit = (at: number) => boolean;

export type Found = {
  readonly detail: string;
  readonly strange: readonly number[];
  readonly figures: Record<string, number>;
};
