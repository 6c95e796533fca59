/**
 * How easily luck alone makes one field follow another: changes over half a second are held against each other at the lag that was found and, for
 * comparison, at all circular shifts, which keep each one's own memory. The tail is a normal's, of Fisher's 1915 transform, with the spread
 * that the shifts show. A few leaps that meet are a start-up, not a habit: the moments that carry the tie must be several.
 */
import { ValueReader } from '../../fields/same-value/pairs.ts';
import { fisherOf } from '../../kit/statistics/correlation.ts';
import { normalBelow } from '../../kit/statistics/distributions.ts';
import type { Prepared } from './prepared.ts';

const CHANGE_US = 500_000;
const POINTS_MOST = 1024;
/** Shifts nearer than this are the tie itself, blurred. */
const NEAR_US = 4_000_000;
/** Moments that would carry as much as these do, were they all alike. */
const CARRYING_LEAST = 4;

export class Changes {
  private readonly kept = new Map<Prepared, Float64Array>();
  readonly stepUs: number;
  private readonly points: number;
  constructor(lengthUs: number) {
    this.stepUs = Math.max(CHANGE_US / 4, lengthUs / POINTS_MOST);
    this.points = Math.max(0, Math.floor((lengthUs - CHANGE_US) / this.stepUs));
  }

  /** [points] changes about their mean, sum of squares 1. lagUs: read so much later. */
  private read({ field }: Prepared, lagUs: number): Float64Array {
    const [from, to] = [new ValueReader(field, 'value'), new ValueReader(field, 'value')];
    const changes = Float64Array.from({ length: this.points }, (_, k) => {
      const change = to.at(k * this.stepUs + lagUs + CHANGE_US) - from.at(k * this.stepUs + lagUs);
      return Number.isNaN(change) ? 0 : change;
    });
    const mean = changes.reduce((sum, change) => sum + change, 0) / Math.max(1, changes.length);
    const size = Math.sqrt(changes.reduce((sum, change) => sum + (change - mean) ** 2, 0));
    return size > 0 ? changes.map((change) => (change - mean) / size) : changes.fill(0);
  }

  private of(field: Prepared): Float64Array {
    const known = this.kept.get(field) ?? this.read(field, 0);
    this.kept.set(field, known);
    return known;
  }

  /** How far their changes go together at a lag that was searched, and its chance, two-sided. Cost: the square of some thousand points. */
  together(leader: Prepared, follower: Prepared, lagUs: number): { readonly r: number; readonly p: number } {
    const [a, b] = [this.of(leader), this.read(follower, lagUs)];
    return { r: product(a, b, 0), p: this.chanceOf(a, b) };
  }

  private chanceOf(a: Float64Array, b: Float64Array): number {
    if (this.points === 0 || carrying(a, b, CHANGE_US / this.stepUs) < CARRYING_LEAST) return 1;
    const near = Math.ceil(NEAR_US / this.stepUs);
    let [n, squares] = [0, 0];
    for (let shift = near; shift < a.length - near; shift++) {
      squares += fisher(product(a, b, shift)) ** 2;
      n++;
    }
    if (n < 10) return 1;
    const spread = Math.max(1 / Math.sqrt(a.length), Math.sqrt(squares / n));
    return Math.min(1, 2 * LAGS_TRIED * normalBelow(-Math.abs(fisher(product(a, b, 0))) / spread));
  }
}

/** Lags within three seconds differ by about so many changes' lengths. */
const LAGS_TRIED = 6;

const fisher = (r: number): number => fisherOf(r, 0.9999);

function product(a: Float64Array, b: Float64Array, shift: number): number {
  let sum = 0;
  for (let k = 0, j = shift; k < a.length; k++, j = j + 1 === a.length ? 0 : j + 1)
    sum += (a[k] as number) * (b[j] as number);
  return sum;
}

/** Half a second of one leap fills several points: told in moments, not in points. */
function carrying(a: Float64Array, b: Float64Array, pointsEach: number): number {
  let [sum, squares] = [0, 0];
  for (let k = 0; k < a.length; k++) {
    // By how far both go, not by the square of it: a few settings differ in size.
    const part = Math.sqrt(Math.abs((a[k] as number) * (b[k] as number)));
    sum += part;
    squares += part ** 2;
  }
  return squares > 0 ? sum ** 2 / squares / pointsEach : 0;
}
