/**
 * One field made ready to be held against others: its values over time, the moments at which they change, the least step that it
 * can show, and ranks on a grid of instants that all fields of the capture share.
 */
import { median, quantile, ranks, sorted } from '../../kit/statistics/order.ts';
import type { FieldSeries } from '../../map/field-series.ts';
import { seriesOf, type Candidate } from '../../map/proposed-fields.ts';

/**
 * [n] the instants at which a value is known to be fresh: where it changes, and where it begins to after a rest. Between them it goes
 * straight; a value sent again and again before it is measured anew is known only where it is new. NaN bounds a silence.
 */
export interface Knots {
  readonly timeUs: Float64Array;
  readonly value: Float64Array;
  /** Each value's place among all values of the field, -1 to 1: what no wild value can spoil. */
  readonly place: Float64Array;
}

export interface ComparedField {
  readonly candidate: Candidate;
  readonly series: FieldSeries;
  readonly knots: Knots;
  /** [changes] rows of the series at which the value differs from the row before. */
  readonly changes: Uint32Array;
  /** Usual time between two of its frames. */
  readonly periodUs: number;
  readonly distinct: number;
  /** The least difference between two of its values: what rounding leaves. */
  readonly quantum: number;
  readonly least: number;
  readonly greatest: number;
}

const CHANGES_LEAST = 3;

function changesOf({ value }: FieldSeries): Uint32Array {
  let count = 0;
  for (let row = 1; row < value.length; row++) if (value[row] !== value[row - 1]) count++;
  const rows = new Uint32Array(count);
  let next = 0;
  for (let row = 1; row < value.length; row++) if (value[row] !== value[row - 1]) rows[next++] = row;
  return rows;
}

function periodOf({ timeUs }: FieldSeries): number {
  const stride = Math.max(1, Math.floor(timeUs.length / 500));
  const gaps: number[] = [];
  for (let row = stride; row < timeUs.length; row += stride)
    gaps.push((timeUs[row] as number) - (timeUs[row - 1] as number));
  return gaps.length > 0 ? Math.max(1, median(gaps)) : 1;
}

/** A tenth of the differences between neighbouring values are no larger: one slip of a bit is not the step. */
function quantumOf(ascending: Float64Array): number {
  const gaps = ascending.subarray(1).map((value, k) => value - (ascending[k] as number));
  return gaps.length > 0 ? quantile(gaps, 0.1) : 0;
}

/** The values of a field, each once, and of each the share of frames below it less the share above it. */
interface Scale {
  readonly value: Float64Array;
  readonly place: Float64Array;
}

function scaleOf({ value: shown }: FieldSeries): Scale {
  const ascending = sorted(shown);
  const total = ascending.length;
  const [value, place] = [new Float64Array(total), new Float64Array(total)];
  let n = 0;
  for (let from = 0; from < total;) {
    let to = from + 1;
    while (to < total && ascending[to] === ascending[from]) to++;
    value[n] = ascending[from] as number;
    place[n++] = (from + to) / total - 1;
    from = to;
  }
  return { value: value.subarray(0, n), place: place.subarray(0, n) };
}

function placeIn({ value, place }: Scale, shown: number): number {
  let [low, high] = [0, value.length];
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((value[middle] as number) <= shown) low = middle;
    else high = middle;
  }
  return value[low] === shown ? (place[low] as number) : Number.NaN;
}

/** Longer than so many periods without a frame, the value is not known. */
const SILENT_PERIODS = 4;
/** A change after a rest of more than twice the usual time between changes began only so long before. */
const RESTS = 2;
const USUAL_MOST_PERIODS = 16;

function usualGap({ timeUs }: FieldSeries, changes: Uint32Array, periodUs: number): number {
  const gaps = Array.from(
    changes.subarray(1),
    (row, k) => (timeUs[row] as number) - (timeUs[changes[k] as number] as number),
  );
  return Math.min(USUAL_MOST_PERIODS * periodUs, Math.max(periodUs, median(gaps)));
}

interface KnotShape {
  readonly periodUs: number;
  readonly usualUs: number;
  readonly quantum: number;
}

/** A step of one quantum is taken halfway: there the value crossed from one to the next. */
function knotsOf(series: FieldSeries, scale: Scale, shape: KnotShape): Knots {
  const { timeUs, value } = series;
  const [at, shown, place]: [number[], number[], number[]] = [[], [], []];
  const add = (atUs: number, a: number, b = a): void => {
    at.push(atUs);
    shown.push((a + b) / 2);
    place.push(a === b ? placeIn(scale, a) : (placeIn(scale, a) + placeIn(scale, b)) / 2);
  };
  add(timeUs[0] as number, value[0] as number);
  for (let row = 1; row < value.length; row++) {
    const [beforeUs, hereUs] = [timeUs[row - 1] as number, timeUs[row] as number];
    const [before, here] = [value[row - 1] as number, value[row] as number];
    const lastUs = at.at(-1) as number;
    if (hereUs - beforeUs > SILENT_PERIODS * shape.periodUs) {
      if (beforeUs > lastUs) add(beforeUs, before);
      add((beforeUs + hereUs) / 2, Number.NaN);
      add(hereUs, here);
    } else if (here !== before) {
      if (hereUs - lastUs > RESTS * shape.usualUs) add(hereUs - shape.usualUs, before);
      if (Math.abs(here - before) <= shape.quantum) add(hereUs, before, here);
      else add(hereUs, here);
    }
  }
  const [lastUs, last] = [timeUs.at(-1) as number, value.at(-1) as number];
  if (lastUs > (at.at(-1) as number)) add(lastUs, last);
  return { timeUs: Float64Array.from(at), value: Float64Array.from(shown), place: Float64Array.from(place) };
}

/** null where too little changes to tell anything by. */
export function comparedField(candidate: Candidate): ComparedField | null {
  const series = seriesOf(candidate);
  const changes = changesOf(series);
  if (changes.length < CHANGES_LEAST) return null;
  const scale = scaleOf(series);
  const [periodUs, quantum] = [periodOf(series), quantumOf(scale.value)];
  const knots = knotsOf(series, scale, { periodUs, quantum, usualUs: usualGap(series, changes, periodUs) });
  return {
    candidate,
    series,
    changes,
    knots,
    periodUs,
    distinct: scale.value.length,
    quantum,
    least: scale.value[0] as number,
    greatest: scale.value.at(-1) as number,
  };
}

/** Points of the grid that all fields are laid on. */
const GRID_MOST = 2048;
const GRID_LEAST_US = 50_000;

export const gridStepUs = (durationUs: number): number => Math.max(GRID_LEAST_US, durationUs / GRID_MOST);

/** [points] ranks about their middle with a sum of squares of 1, and 0 where the value is not known: products of two sum to about Spearman's rho. */
export function signatureOf(values: Float64Array): Float32Array {
  const known = Array.from(values.keys()).filter((k) => !Number.isNaN(values[k] as number));
  const rank = ranks(known.map((k) => values[k] as number));
  const middle = (known.length + 1) / 2;
  let squares = 0;
  for (const each of rank) squares += (each - middle) ** 2;
  const out = new Float32Array(values.length);
  if (squares > 0) known.forEach((k, i) => (out[k] = ((rank[i] as number) - middle) / Math.sqrt(squares)));
  return out;
}
