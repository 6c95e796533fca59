/**
 * A signal's value at any instant, for a common grid of time. Between values nothing was measured, so how far a value may reach is bounded
 * and said: without a bound of the person's own, three times the median spacing of that signal's values. What is farther away is a gap and
 * stays one. States, flags and texts are always held: nothing lies between two of them.
 */
import { lengthAt, type Stream } from '../frames/table.ts';
import type { CompiledSignal } from '../map/decode.ts';
import type { WideColumn } from './decode-plan.ts';
import { valueAt, type SignalValue } from './value-writers.ts';

export const RESAMPLE_RULES = ['hold', 'mean', 'linear'] as const;
export type ResampleRule = (typeof RESAMPLE_RULES)[number];

export interface Resampling {
  /** Microseconds between two instants. */
  readonly stepUs: number;
  readonly rule: ResampleRule;
  /** Microseconds that a value may reach; default: by the signal's own spacing. */
  readonly reachUs?: number;
}

export interface Sampler {
  /** Microseconds that a value reaches. */
  readonly reachUs: number;
  /** Instants must not fall. Null where there is a gap, or where the frame said that there is no value. */
  at(instantUs: number): SignalValue | null;
}

const SPACINGS_REACHED = 3;

/** Rows in which the signal is there, by ones; -1 at the end. */
function nextPresent({ present }: CompiledSignal, stream: Stream, from: number): number {
  for (let row = from; row < stream.count; row++)
    if (present(stream.payload, row * stream.stride, lengthAt(stream, row))) return row;
  return -1;
}

/** Median time between two values of the signal; null where it has fewer than two. */
function medianSpacingUs(signal: CompiledSignal, stream: Stream): number | null {
  const gaps: number[] = [];
  let last = nextPresent(signal, stream, 0);
  while (last >= 0) {
    const next = nextPresent(signal, stream, last + 1);
    if (next < 0) break;
    gaps.push((stream.timeUs[next] as number) - (stream.timeUs[last] as number));
    last = next;
  }
  if (gaps.length === 0) return null;
  return Float64Array.from(gaps).sort()[gaps.length >> 1] as number;
}

/** Walks a signal's values: the last at or before an instant, and the one after it. */
class Cursor {
  readonly #signal: CompiledSignal;
  readonly #stream: Stream;
  before = -1;
  after: number;

  constructor(signal: CompiledSignal, stream: Stream) {
    this.#signal = signal;
    this.#stream = stream;
    this.after = nextPresent(signal, stream, 0);
  }

  timeUs(row: number): number {
    return this.#stream.timeUs[row] as number;
  }

  value(row: number): SignalValue {
    return valueAt(this.#signal, this.#stream, row * this.#stream.stride);
  }

  /** Visits each row that it passes. */
  advance(instantUs: number, visit: (row: number) => void = () => undefined): void {
    while (this.after >= 0 && this.timeUs(this.after) <= instantUs) {
      this.before = this.after;
      visit(this.before);
      this.after = nextPresent(this.#signal, this.#stream, this.before + 1);
    }
  }
}

const known = (value: SignalValue): SignalValue | null => (value.invalid === null ? value : null);
const made = (physical: number): SignalValue => ({ physical, text: null, raw: Number.NaN, invalid: null });

function held(cursor: Cursor, reachUs: number): Sampler['at'] {
  return (instantUs) => {
    cursor.advance(instantUs);
    if (cursor.before < 0 || instantUs - cursor.timeUs(cursor.before) > reachUs) return null;
    return known(cursor.value(cursor.before));
  };
}

/** Of the values stamped within the step that ends at the instant, which belongs to it. */
function mean(cursor: Cursor, stepUs: number): Sampler['at'] {
  return (instantUs) => {
    let [sum, n] = [0, 0];
    cursor.advance(instantUs, (row) => {
      if (cursor.timeUs(row) <= instantUs - stepUs) return;
      const { physical } = cursor.value(row);
      if (!Number.isFinite(physical)) return;
      sum += physical;
      n++;
    });
    return n === 0 ? null : made(sum / n);
  };
}

function linear(cursor: Cursor, reachUs: number): Sampler['at'] {
  return (instantUs) => {
    cursor.advance(instantUs);
    const { before, after } = cursor;
    if (before < 0) return null;
    const [startUs, first] = [cursor.timeUs(before), cursor.value(before)];
    if (startUs === instantUs) return known(first);
    if (after < 0) return null;
    const [endUs, second] = [cursor.timeUs(after), cursor.value(after)];
    if (endUs - startUs > reachUs) return null;
    const physical = first.physical + ((second.physical - first.physical) * (instantUs - startUs)) / (endUs - startUs);
    return Number.isFinite(physical) ? made(physical) : null;
  };
}

/** Which rule a column really follows. */
export function ruleFor({ type, signal }: WideColumn, rule: ResampleRule): ResampleRule {
  return type === 'number' && signal.signal.kind === 'number' ? rule : 'hold';
}

/** One pass over the stream to learn its spacing, one more while instants rise. */
export function samplerOf(column: WideColumn, stream: Stream, { stepUs, rule, reachUs }: Resampling): Sampler {
  const spacing = (): number =>
    (medianSpacingUs(column.signal, stream) ?? stepUs / SPACINGS_REACHED) * SPACINGS_REACHED;
  const reach = reachUs ?? spacing();
  const cursor = new Cursor(column.signal, stream);
  const own = ruleFor(column, rule);
  if (own === 'mean') return { reachUs: stepUs, at: mean(cursor, stepUs) };
  return { reachUs: reach, at: own === 'linear' ? linear(cursor, reach) : held(cursor, reach) };
}
