/**
 * A parabola through the difference of two clocks' readings, some of which may be far off: the one that most windows keep to
 * (least quantile of squares, Rousseeuw 1984), then weighted least squares over those. Its slope is the drift in the middle, its
 * bend how the drift changes while the modules warm up.
 */

export interface DriftFit {
  /** In the middle of the span, units of d, with d's change from the middle to the end for slope and bend. */
  readonly level: number;
  readonly slope: number;
  readonly bend: number;
  readonly slopeSe: number;
  readonly bendSe: number;
  /** Share of the windows that keep to it. */
  readonly kept: number;
  /** Root of the mean square of what is left over its standard error. */
  readonly chi: number;
}

/** Share of the windows that a curve must keep to. */
const KEPT_SHARE = 0.6;
/** Further away than so many standard errors is another matter. */
const WITHIN_SE = 4;

/** The narrowest band that holds `kept` of the sorted values, as its middle and half its width. */
function narrowestBand(sorted: Float64Array, kept: number): readonly [middle: number, half: number] {
  let [best, width] = [0, Infinity];
  for (let i = 0; i + kept <= sorted.length; i++) {
    const wide = (sorted[i + kept - 1] as number) - (sorted[i] as number);
    if (wide < width) [best, width] = [i, wide];
  }
  return [((sorted[best] as number) + (sorted[best + kept - 1] as number)) / 2, width / 2];
}

type Curve = readonly [level: number, slope: number, bend: number];

const at = ([level, slope, bend]: Curve, x: number): number => level + slope * x + bend * x * x;

function throughThree(u: Float64Array, d: Float64Array, i: number, j: number, k: number): Curve {
  const [a, b, c] = [u[i] as number, u[j] as number, u[k] as number];
  const first = ((d[j] as number) - (d[i] as number)) / (b - a);
  const second = ((d[k] as number) - (d[j] as number)) / (c - b);
  const bend = (second - first) / (c - a);
  return [0, first - bend * (a + b), bend];
}

/** So many places of each third are tried at most, and of so many windows the rests are ranked: edges of stamps come by the hundred. */
const PLACES_TRIED = 8;
const RANKED = 256;

/** At most RANKED windows, spread evenly. */
function rankedWindows(n: number): Int32Array {
  const ranked = Math.min(n, RANKED);
  return Int32Array.from({ length: ranked }, (_, i) => Math.floor(((i + 0.5) * n) / ranked));
}

/** Parabolas through three windows, one of each third of the span, are tried. Cost: bounded, whatever n. */
function keptCurve(u: Float64Array, d: Float64Array): { readonly curve: Curve; readonly within: number } {
  const n = u.length;
  const third = Math.floor(n / 3);
  const every = Math.max(2, Math.ceil(third / PLACES_TRIED));
  const ranked = rankedWindows(n);
  const kept = Math.ceil(KEPT_SHARE * ranked.length);
  const rest = new Float64Array(ranked.length);
  let best = { curve: [0, 0, 0] as Curve, within: Infinity };
  for (let i = 0; i < third; i += every) {
    for (let j = third; j < n - third; j += every) {
      for (let k = n - 1; k >= n - third; k -= every) {
        const curve = throughThree(u, d, i, j, k);
        for (let rank = 0; rank < rest.length; rank++) {
          const w = ranked[rank] as number;
          rest[rank] = (d[w] as number) - at(curve, u[w] as number);
        }
        const [level, within] = narrowestBand(rest.sort(), kept);
        if (within < best.within) best = { curve: [level, curve[1], curve[2]], within };
      }
    }
  }
  return best;
}

/** Inverse of a symmetric 3 x 3 matrix, row by row. */
function inverse(a: number, b: number, c: number, d: number, e: number, f: number): number[][] {
  const [A, B, C] = [d * f - e * e, c * e - b * f, b * e - c * d];
  const det = a * A + b * B + c * C;
  const [D, E, F] = [a * f - c * c, b * c - a * e, a * d - b * b];
  return [
    [A / det, B / det, C / det],
    [B / det, D / det, E / det],
    [C / det, E / det, F / det],
  ];
}

/** Weighted least squares over the chosen windows. */
function fitted(u: Float64Array, d: Float64Array, error: Float64Array, chosen: readonly number[]) {
  const sums = new Float64Array(5);
  const right = new Float64Array(3);
  for (const w of chosen) {
    const weight = 1 / (error[w] as number) ** 2;
    for (let power = 0; power < 5; power++) sums[power] = (sums[power] as number) + weight * (u[w] as number) ** power;
    for (let power = 0; power < 3; power++) {
      right[power] = (right[power] as number) + weight * (d[w] as number) * (u[w] as number) ** power;
    }
  }
  const [s0, s1, s2, s3, s4] = sums as unknown as [number, number, number, number, number];
  const inverted = inverse(s0, s1, s2, s2, s3, s4);
  const curve = inverted.map((row) => row.reduce((sum, value, i) => sum + value * (right[i] as number), 0));
  return { inverted, curve: curve as unknown as Curve };
}

/**
 * @param u [n >= 6] places, -1..1 over the span @param d [n] differences @param error [n] their standard errors
 * Source: P. J. Rousseeuw, "Least median of squares regression", 1984.
 */
export function fitDrift(u: Float64Array, d: Float64Array, error: Float64Array): DriftFit {
  const first = keptCurve(u, d);
  const limit = (w: number): number => Math.max(2 * first.within, WITHIN_SE * (error[w] as number));
  const near = [...u.keys()].filter((w) => Math.abs((d[w] as number) - at(first.curve, u[w] as number)) <= limit(w));
  const { inverted, curve } = fitted(u, d, error, near);
  const squares = near.reduce(
    (sum, w) => sum + (((d[w] as number) - at(curve, u[w] as number)) / (error[w] as number)) ** 2,
    0,
  );
  const chi = Math.sqrt(squares / Math.max(1, near.length - 3));
  const se = (i: number): number => Math.max(1, chi) * Math.sqrt((inverted[i] as number[])[i] as number);
  const [level, slope, bend] = curve;
  return { level, slope, bend, slopeSe: se(1), bendSe: se(2), kept: near.length / u.length, chi };
}

/** A curve over time: drift and change of drift with their standard errors, ppm and ppm per 100 s. */
export interface TimedDrift extends Pick<DriftFit, 'level' | 'kept' | 'chi'> {
  readonly ppm: number;
  readonly se: number;
  readonly bend: number;
  readonly bendSe: number;
}

/**
 * @param s [n >= 6] seconds, ascending @param d [n] microseconds @param error [n] their standard errors
 * @param shiftSdUs by how much all may have shifted on the way, one standard deviation
 */
export function fitOverTime(s: Float64Array, d: Float64Array, error: Float64Array, shiftSdUs = 0): TimedDrift {
  const from = s[0] as number;
  const halfS = ((s[s.length - 1] as number) - from) / 2;
  const u = s.map((each) => (each - from) / halfS - 1);
  const { level, slope, bend, slopeSe, bendSe, kept, chi } = fitDrift(u, d, error);
  const toBend = 200 / halfS ** 2;
  return {
    level,
    kept,
    chi,
    ppm: slope / halfS,
    se: Math.hypot(slopeSe, shiftSdUs) / halfS,
    bend: bend * toBend,
    bendSe: Math.hypot(bendSe, shiftSdUs) * toBend,
  };
}
