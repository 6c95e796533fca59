/**
 * Round figures for an axis: steps of 1, 2 or 5 times a power of ten. The rule is the usual one of loose labelling (Heckbert, "Nice
 * Numbers for Graph Labels", Graphics Gems, 1990), here with every figure inside the range.
 */
const NICE = [1, 2, 5, 10] as const;

/** The least round step with which at most `most` steps cover the range. @param range above 0 */
export function niceStep(range: number, most: number): number {
  const wanted = range / Math.max(1, most);
  const power = 10 ** Math.floor(Math.log10(wanted));
  return power * (NICE.find((nice) => nice * power >= wanted * (1 - 1e-9)) ?? 10);
}

/** Ascending, within low..high; the one value where both are the same, none where one is not finite. */
export function niceTicks(low: number, high: number, most: number): number[] {
  if (!Number.isFinite(low) || !Number.isFinite(high) || high < low) return [];
  if (high === low) return [low];
  const step = niceStep(high - low, most);
  const digits = Math.max(0, Math.min(20, -Math.floor(Math.log10(step) + 1e-9)));
  const first = Math.ceil(low / step - 1e-9);
  const last = Math.floor(high / step + 1e-9);
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, k) => Number(((first + k) * step).toFixed(digits)));
}
