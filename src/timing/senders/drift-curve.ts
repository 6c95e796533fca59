/**
 * A parabola through the difference of two clocks' readings, of which a busy bus has lifted some: the one that most windows keep to
 * (least quantile of squares, Rousseeuw 1984), then least squares over those. Its slope is the drift in the middle, its
 * bend how the drift changes while the modules warm up.
 */

export interface DriftCurve {
  /** In the middle of the span, units of d, with d's change from the middle to the end for slope and bend. */
  readonly level: number;
  readonly slope: number;
  readonly bend: number;
  /** Standard errors of slope and bend. */
  readonly slopeSe: number;
  readonly bendSe: number;
}

/** Share of the windows that a curve must keep to. */
const KEPT_SHARE = 0.4;
/** Simulated pairs of one clock stray by this much more than the scatter about their curve says: bumps come in runs. */
const CAUTION = 2;

/** The narrowest band that holds `kept` of the sorted values, as its middle and half its width. */
function narrowestBand(sorted: Float64Array, kept: number): readonly [middle: number, half: number] {
  let [best, width] = [0, Infinity];
  for (let i = 0; i + kept <= sorted.length; i++) {
    const wide = (sorted[i + kept - 1] as number) - (sorted[i] as number);
    if (wide < width) [best, width] = [i, wide];
  }
  return [((sorted[best] as number) + (sorted[best + kept - 1] as number)) / 2, width / 2];
}

interface Kept {
  readonly level: number;
  readonly slope: number;
  readonly bend: number;
  readonly within: number;
}

/** Slope and bend of the parabola through three points. */
function throughThree(u: Float64Array, d: Float64Array, i: number, j: number, k: number): readonly [number, number] {
  const [a, b, c] = [u[i] as number, u[j] as number, u[k] as number];
  const first = ((d[j] as number) - (d[i] as number)) / (b - a);
  const second = ((d[k] as number) - (d[j] as number)) / (c - b);
  const bend = (second - first) / (c - a);
  return [first - bend * (a + b), bend];
}

/** Parabolas through three windows, one of each third of the span, are tried. O(windows^4) at worst, windows few. */
function keptCurve(u: Float64Array, d: Float64Array): Kept {
  const n = u.length;
  const third = Math.floor(n / 3);
  const kept = Math.ceil(KEPT_SHARE * n);
  const rest = new Float64Array(n);
  let best: Kept = { level: 0, slope: 0, bend: 0, within: Infinity };
  for (let i = 0; i < third; i += 2) {
    for (let j = third; j < n - third; j += 2) {
      for (let k = n - 1; k >= n - third; k -= 2) {
        const [slope, bend] = throughThree(u, d, i, j, k);
        for (let at = 0; at < n; at++) {
          const x = u[at] as number;
          rest[at] = (d[at] as number) - slope * x - bend * x * x;
        }
        const [level, within] = narrowestBand(rest.sort(), kept);
        if (within < best.within) best = { level, slope, bend, within };
      }
    }
  }
  return best;
}

/** Inverse of a symmetric 3 x 3 matrix, row by row. */
function inverse([a, b, c, d, e, f]: readonly [number, number, number, number, number, number]): number[][] {
  const [A, B, C] = [d * f - e * e, c * e - b * f, b * e - c * d];
  const det = a * A + b * B + c * C;
  const [D, E, F] = [a * f - c * c, b * c - a * e, a * d - b * b];
  return [
    [A / det, B / det, C / det],
    [B / det, D / det, E / det],
    [C / det, E / det, F / det],
  ];
}

/**
 * @param u [n] places, -1..1 over the span @param d [n] differences @param floor least scatter that is believed
 * Source: P. J. Rousseeuw, "Least median of squares regression", 1984.
 */
export function driftCurve(u: Float64Array, d: Float64Array, floor: number): DriftCurve {
  const first = keptCurve(u, d);
  const limit = Math.max(3 * first.within, floor);
  const sums = new Float64Array(5);
  const right = new Float64Array(3);
  const near: number[] = [];
  for (let i = 0; i < u.length; i++) {
    const x = u[i] as number;
    const y = d[i] as number;
    if (Math.abs(y - first.level - first.slope * x - first.bend * x * x) > limit) continue;
    near.push(i);
    for (let power = 0; power < 5; power++) sums[power] = (sums[power] as number) + x ** power;
    for (let power = 0; power < 3; power++) right[power] = (right[power] as number) + y * x ** power;
  }
  const [s0, s1, s2, s3, s4] = sums as unknown as [number, number, number, number, number];
  const inverted = inverse([s0, s1, s2, s2, s3, s4]);
  const [level, slope, bend] = inverted.map((row) =>
    row.reduce((sum, value, at) => sum + value * (right[at] as number), 0),
  ) as [number, number, number];
  const squares = near.reduce((sum, i) => {
    const x = u[i] as number;
    return sum + ((d[i] as number) - level - slope * x - bend * x * x) ** 2;
  }, 0);
  const few = Math.max(1, (0.7 * u.length) / near.length);
  const sigma = CAUTION * few * Math.hypot(Math.sqrt(squares / Math.max(1, near.length - 3)), floor);
  const se = (at: number): number => sigma * Math.sqrt((inverted[at] as number[])[at] as number);
  return { level, slope, bend, slopeSe: se(1), bendSe: se(2) };
}
