/**
 * How easily luck alone makes two numbers move together. Smooth slow signals correlate by nature, and so do their steps where both only drift;
 * so what is compared is by how much the pace changes from one stretch to the next, over stretches of several lengths, by rank, against all
 * circular shifts of one against the other, which keep each one's own memory (the spread of a correlation over shifts is Bartlett's
 * of 1946, by counting). The tail is a normal's, of Fisher's 1915 transform.
 */
import { fisherOf } from '../../kit/statistics/correlation.ts';
import { normalBelow } from '../../kit/statistics/distributions.ts';
import { ValueReader } from './pairs.ts';
import { signatureOf, type ComparedField } from './series.ts';

/** Stretches into which the capture is cut, longest last: a slow value moves by several of its steps only in a long one. */
const STRETCHES = [512, 256, 128, 64, 32] as const;

/** Rank signatures of a field's changes of pace over stretches of each length. */
export type StepSignatures = readonly Float32Array[];

/** Paces are told apart to this share of a quantum: what is smaller comes of reading between frames. */
const TOLD = 1 / 8;

export function stepSignatures(field: ComparedField, lengthUs: number): StepSignatures {
  return STRETCHES.map((count) => {
    const reader = new ValueReader(field, 'value');
    const values = Float64Array.from({ length: count + 1 }, (_, k) => reader.at((k * lengthUs) / count));
    const step = (k: number): number => (values[k + 1] as number) - (values[k] as number);
    const told = TOLD * field.quantum;
    const pace = (k: number): number => Math.round((step(k) - (k > 0 ? step(k - 1) : Number.NaN)) / told);
    return signatureOf(Float64Array.from({ length: count }, (_, k) => pace(k)));
  });
}

const fisher = (r: number): number => fisherOf(r, 0.9999);

function shiftedProducts(a: Float32Array, b: Float32Array): Float64Array {
  const n = a.length;
  const out = new Float64Array(n);
  for (let shift = 0; shift < n; shift++) {
    let sum = 0;
    for (let k = 0, j = shift; k < n; k++, j = j + 1 === n ? 0 : j + 1) sum += (a[k] as number) * (b[j] as number);
    out[shift] = sum;
  }
  return out;
}

/** Stretches that would tell as much as these do, were they all alike: one leap at a start tells nothing, however well it fits. */
function tellingStretches(a: Float32Array, b: Float32Array, shift: number): number {
  let [sum, squares] = [0, 0];
  for (let k = 0; k < a.length; k++) {
    const part = Math.abs((a[k] as number) * (b[(k + shift) % b.length] as number));
    sum += part;
    squares += part ** 2;
  }
  return squares > 0 ? sum ** 2 / squares : 0;
}
const TELLING_LEAST = 8;

export interface Chance {
  /** Two-sided, for the best of the stretch lengths tried. */
  readonly p: number;
  /** Rank correlation of changes of pace at that length. */
  readonly steps: number;
}

/** Neighbours at a shift of one stretch count as together: a lag may put them there. */
export function chanceOf(a: StepSignatures, b: StepSignatures): Chance {
  let best: Chance = { p: 1, steps: 0 };
  const tried = Math.min(a.length, b.length);
  for (let k = 0; k < tried; k++) {
    const products = shiftedProducts(a[k] as Float32Array, b[k] as Float32Array);
    const n = products.length;
    let squares = 0;
    for (let shift = 2; shift < n - 1; shift++) squares += fisher(products[shift] as number) ** 2;
    const spread = Math.max(1 / Math.sqrt(n), Math.sqrt(squares / (n - 3)));
    const shift = [0, 1, n - 1].reduce((most, next) =>
      Math.abs(products[next] as number) > Math.abs(products[most] as number) ? next : most,
    );
    if (tellingStretches(a[k] as Float32Array, b[k] as Float32Array, shift) < TELLING_LEAST) continue;
    const steps = products[shift] as number;
    const p = Math.min(1, 2 * 3 * tried * normalBelow(-Math.abs(fisher(steps)) / spread));
    if (p < best.p) best = { p, steps };
  }
  return best;
}
