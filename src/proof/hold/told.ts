/** An aspect of a signal that others than the signal itself tell: a reference, a law, marks. */
import type { MapSignal } from '../../map/schema.ts';
import type { ProofAspect } from './types.ts';

export interface ToldAspect extends ProofAspect {
  /** Seconds from the capture's origin at which it shows. */
  readonly moments: readonly number[];
}

/** The same of no kind yet. */
export type Judgement = Omit<ToldAspect, 'aspect'>;

export const notExercised = (detail: string, figures: ProofAspect['figures'] = {}): Judgement => ({
  verdict: 'not-exercised',
  detail,
  figures,
  moments: [],
});

/** What is said of each signal. */
export type Aspects = ReadonlyMap<MapSignal, readonly ToldAspect[]>;

/** Of several the one that refuses is told first, then one that holds. */
const RANK = { fails: 0, holds: 1, 'not-exercised': 2 } as const;

export function addAspect(aspects: Map<MapSignal, readonly ToldAspect[]>, signal: MapSignal, told: ToldAspect): void {
  const all = [...(aspects.get(signal) ?? []), told];
  aspects.set(
    signal,
    all.sort((a, b) => RANK[a.verdict] - RANK[b.verdict]),
  );
}
