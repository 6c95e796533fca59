/**
 * Order statistics: what a series looks like when a few of its values are wild. Quantiles are of type 7
 * of Hyndman and Fan 1996 ("Sample quantiles in statistical packages"), the usual default.
 */
type Numbers = ArrayLike<number>;

/** A sorted copy, ascending. NaN goes to the end. */
export function sorted(values: Numbers): Float64Array {
  return Float64Array.from(values).sort();
}

/** Quantile of ascending values, share 0..1; NaN of none. */
export function quantileSorted(ascending: Numbers, share: number): number {
  const n = ascending.length;
  if (n === 0) return Number.NaN;
  const at = Math.min(Math.max(share, 0), 1) * (n - 1);
  const low = Math.floor(at);
  const high = Math.min(low + 1, n - 1);
  const a = ascending[low] as number;
  return a + (at - low) * ((ascending[high] as number) - a);
}

export const quantile = (values: Numbers, share: number): number => quantileSorted(sorted(values), share);
export const median = (values: Numbers): number => quantile(values, 0.5);

/** 1 / the 0.75 quantile of the standard normal: makes the median deviation estimate a normal's sd. */
export const MAD_TO_SD = 1.482602218505602;

/** Median absolute deviation from the median, times the factor that makes it estimate a normal's sd. */
export function robustSd(values: Numbers): number {
  const middle = median(values);
  return MAD_TO_SD * median(Float64Array.from(values, (value) => Math.abs(value - middle)));
}

export function mean(values: Numbers): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i] as number;
  return sum / values.length;
}

/** Mean of what is not NaN; 0 where nothing is known. */
export function knownMean(values: Numbers): number {
  let [n, sum] = [0, 0];
  for (let i = 0; i < values.length; i++) {
    const value = values[i] as number;
    if (Number.isNaN(value)) continue;
    n++;
    sum += value;
  }
  return n > 0 ? sum / n : 0;
}

/** The least and the greatest that is known (NaN left out); Infinity and -Infinity where none is. */
export function extent(values: Numbers): { readonly least: number; readonly most: number } {
  let [least, most] = [Infinity, -Infinity];
  for (let i = 0; i < values.length; i++) {
    const value = values[i] as number;
    if (value < least) least = value;
    if (value > most) most = value;
  }
  return { least, most };
}

/** Sample variance (divisor n - 1); NaN below two values. */
export function variance(values: Numbers): number {
  const n = values.length;
  if (n < 2) return Number.NaN;
  const middle = mean(values);
  let sum = 0;
  for (let i = 0; i < n; i++) sum += ((values[i] as number) - middle) ** 2;
  return sum / (n - 1);
}

/** Mean of the middle after leaving out `share` of the values at each end. */
export function trimmedMean(values: Numbers, share: number): number {
  const ascending = sorted(values);
  const cut = Math.min(Math.floor(ascending.length * share), Math.floor((ascending.length - 1) / 2));
  return mean(ascending.subarray(cut, ascending.length - cut));
}

/** [n] ranks from 1, ties given their mean rank. */
export function ranks(values: Numbers): Float64Array {
  const n = values.length;
  const order = Uint32Array.from({ length: n }, (_, i) => i).sort(
    (a, b) => (values[a] as number) - (values[b] as number),
  );
  const out = new Float64Array(n);
  for (let from = 0; from < n;) {
    let to = from + 1;
    while (to < n && values[order[to] as number] === values[order[from] as number]) to++;
    for (let i = from; i < to; i++) out[order[i] as number] = (from + 1 + to) / 2;
    from = to;
  }
  return out;
}
