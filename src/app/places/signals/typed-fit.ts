/**
 * A straight line through a few meter readings typed at the cursor: ordinary least squares with the usual standard
 * errors (any statistics handbook, simple linear regression). Two readings give a line and no error; fewer, nothing.
 */
export interface Pair {
  readonly raw: number;
  readonly physical: number;
}

export interface Line {
  readonly scale: number;
  /** NaN with two readings. */
  readonly scaleSe: number;
  readonly offset: number;
  readonly offsetSe: number;
  readonly r2: number;
  readonly n: number;
}

/** null where the raw values do not differ, or fewer than two readings have a value. */
export function lineThrough(pairs: readonly Pair[]): Line | null {
  const usable = pairs.filter(({ raw, physical }) => Number.isFinite(raw) && Number.isFinite(physical));
  const n = usable.length;
  if (n < 2) return null;
  const meanRaw = usable.reduce((sum, { raw }) => sum + raw, 0) / n;
  const meanPhysical = usable.reduce((sum, { physical }) => sum + physical, 0) / n;
  let sxx = 0;
  let sxy = 0;
  let syy = 0;
  for (const { raw, physical } of usable) {
    sxx += (raw - meanRaw) ** 2;
    sxy += (raw - meanRaw) * (physical - meanPhysical);
    syy += (physical - meanPhysical) ** 2;
  }
  if (sxx === 0) return null;
  const scale = sxy / sxx;
  const residual = Math.max(0, syy - scale * sxy);
  const variance = n > 2 ? residual / (n - 2) : Number.NaN;
  return {
    scale,
    scaleSe: Math.sqrt(variance / sxx),
    offset: meanPhysical - scale * meanRaw,
    offsetSe: Math.sqrt(variance * (1 / n + meanRaw ** 2 / sxx)),
    r2: syy === 0 ? Number.NaN : 1 - residual / syy,
    n,
  };
}

/** What is still needed, in words; empty when the line can be judged. */
export function readingsNeeded(line: Line | null, count: number): string {
  if (count === 0) return 'No readings yet: put the cursor where a meter was read, and type what it said.';
  if (count === 1) return '1 reading: 1 more, at a clearly different value, gives a line; 2 more tell how good it is.';
  if (!line) return `${count} readings, all at the same raw value: take one where the value differs.`;
  if (count === 2) return '2 readings: a line through two points always fits. 1 more tells how good it is.';
  return '';
}
