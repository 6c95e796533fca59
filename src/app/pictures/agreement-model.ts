/**
 * Agreement over the offsets that were tried: its peak, the runner-up (the highest other hill more than two seconds away) and how much of the peak's
 * height over a usual offset it reaches. The nearer the runner-up, the less one peak says.
 */

export interface ClockCurve {
  /** Seconds added to the other clock's stamps. */
  readonly offsetS: number;
  /** Standard error; null where it was given by hand. */
  readonly seS: number | null;
  readonly curve: { readonly offsetS: readonly number[]; readonly agreement: readonly number[] } | null;
  /** What chance reaches once in a thousand; null where that is not known. */
  readonly chance: number | null;
}

export interface TriedOffset {
  readonly offsetS: number;
  readonly agreement: number;
}

const APART_S = 2;
/** A hill is higher than all within this of it. */
const HILL_S = 0.5;
const TWO_SIDED_95 = 1.96;

const tried = ({ curve }: ClockCurve): TriedOffset[] =>
  (curve?.offsetS ?? []).map((offsetS, i) => ({ offsetS, agreement: curve?.agreement[i] as number }));

export const peakOf = (clock: ClockCurve): TriedOffset | null =>
  tried(clock).reduce<TriedOffset | null>((best, one) => (best && best.agreement >= one.agreement ? best : one), null);

export function runnerUpOf(clock: ClockCurve): TriedOffset | null {
  const all = tried(clock);
  const peak = peakOf(clock);
  if (!peak) return null;
  const isHill = (one: TriedOffset): boolean =>
    all.every(({ offsetS, agreement }) => Math.abs(offsetS - one.offsetS) > HILL_S || agreement <= one.agreement);
  return (
    all
      .filter(({ offsetS }) => Math.abs(offsetS - peak.offsetS) > APART_S)
      .sort((a, b) => b.agreement - a.agreement)
      .find(isHill) ?? null
  );
}

/** Share of the peak's height over the usual agreement that the runner-up reaches, 0..1; null without one. */
export function runnerUpShare(clock: ClockCurve): number | null {
  const [peak, runnerUp] = [peakOf(clock), runnerUpOf(clock)];
  const sorted = tried(clock)
    .map(({ agreement }) => agreement)
    .sort((a, b) => a - b);
  const usual = sorted[Math.floor(sorted.length / 2)] ?? 0;
  if (!peak || !runnerUp || peak.agreement <= usual) return null;
  return Math.max(0, (runnerUp.agreement - usual) / (peak.agreement - usual));
}

/** Half the width of the 95 % interval, seconds. */
export const errorOf = ({ seS }: Pick<ClockCurve, 'seS'>): number | null => (seS === null ? null : TWO_SIDED_95 * seS);

/** First and last offset tried, or null. */
export function searchedSpan({ curve }: ClockCurve): { readonly fromS: number; readonly toS: number } | null {
  if (!curve || curve.offsetS.length < 2) return null;
  return { fromS: Math.min(...curve.offsetS), toS: Math.max(...curve.offsetS) };
}
