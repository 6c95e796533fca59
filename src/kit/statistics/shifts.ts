/**
 * Circular shifts: the null of two series that have nothing to do with each other, with each one's own
 * autocorrelation and spacing kept.
 */

/** value mod length, in 0..length-1 for negative values too. */
export const wrap = (value: number, length: number): number => ((value % length) + length) % length;

/** A series in a circle, made ready for being read from many starts. */
export interface RoundSeries {
  /** [n] as it is. */
  readonly once: Float64Array;
  /** [2 n] twice on end, so that no reading wraps. */
  readonly twice: Float64Array;
  /** Where it is not zero; null where that is not seldom. */
  readonly few: Uint32Array | null;
}

/** Entries other than zero are few up to this share: adding them one by one is dearer. */
const FEW_SHARE = 1 / 8;

function placesOtherThanZero(series: Float64Array): Uint32Array | null {
  const most = Math.floor(FEW_SHARE * series.length);
  const places = new Uint32Array(most);
  let count = 0;
  for (let k = 0; k < series.length; k++) {
    if (series[k] === 0) continue;
    if (count === most) return null;
    places[count++] = k;
  }
  return places.slice(0, count);
}

export function roundSeries(series: Float64Array): RoundSeries {
  const n = series.length;
  const twice = new Float64Array(2 * n);
  twice.set(series);
  twice.set(series, n);
  return { once: twice.subarray(0, n), twice, few: placesOtherThanZero(series) };
}

/** The same with all its values taken without their signs. */
export function sizesOf({ twice, few }: RoundSeries): RoundSeries {
  const sizes = new Float64Array(twice.length);
  for (let k = 0; k < twice.length; k++) sizes[k] = Math.abs(twice[k] as number);
  return { once: sizes.subarray(0, twice.length / 2), twice: sizes, few };
}

function addOne(into: Float64Array, { twice }: RoundSeries, start: number): void {
  for (let k = 0; k < into.length; k++) into[k] = (into[k] as number) + (twice[start + k] as number);
}

function addFew(into: Float64Array, { once }: RoundSeries, few: Uint32Array, start: number): void {
  const n = into.length;
  for (let i = 0; i < few.length; i++) {
    const from = few[i] as number;
    const k = from >= start ? from - start : from - start + n;
    into[k] = (into[k] as number) + (once[from] as number);
  }
}

const TOGETHER = 8;

/** Eight in one pass, in the order in which one after the other would add them. */
function addEight(into: Float64Array, all: readonly RoundSeries[], starts: readonly number[]): void {
  const [a, b, c, d, e, f, g, h] = all.map(({ twice }) => twice) as EightArrays;
  const [p, q, r, s, t, u, v, w] = starts as EightNumbers;
  for (let k = 0; k < into.length; k++)
    into[k] =
      (into[k] as number) +
      (a[p + k] as number) +
      (b[q + k] as number) +
      (c[r + k] as number) +
      (d[s + k] as number) +
      (e[t + k] as number) +
      (f[u + k] as number) +
      (g[v + k] as number) +
      (h[w + k] as number);
}

type Eight<T> = [T, T, T, T, T, T, T, T];
type EightArrays = Eight<Float64Array>;
type EightNumbers = Eight<number>;

/**
 * Adds series of the accumulator's length onto it, each read from its start on and wrapping round:
 * `into[k] += series[i][(starts[i] + k) mod n]`, for all k and for i ascending. Cost: n additions a series, fewer where it is mostly zero.
 */
export function addShifted(into: Float64Array, series: readonly RoundSeries[], starts: readonly number[]): void {
  const n = into.length;
  let [waiting, from] = [[] as RoundSeries[], [] as number[]];
  const addWaiting = (): void => {
    if (waiting.length === TOGETHER) addEight(into, waiting, from);
    else waiting.forEach((one, i) => addOne(into, one, from[i] as number));
    [waiting, from] = [[], []];
  };
  series.forEach((one, i) => {
    const start = wrap(starts[i] as number, n);
    if (one.few) {
      addWaiting();
      addFew(into, one, one.few, start);
      return;
    }
    waiting.push(one);
    from.push(start);
    if (waiting.length === TOGETHER) addWaiting();
  });
  addWaiting();
}
