/**
 * Whether a signal's values make sense in another capture: states named, numbers within what was observed before. A constant
 * tests nothing. Numbers that go beyond the range in small steps may be a harder drive, so they are not refused; numbers
 * that leap there are wrongly placed or coded. A scale shows only against a reference, a sign only where the value goes negative.
 */
import { lengthAt, type Stream } from '../../frames/table.ts';
import type { CompiledFrame, CompiledSignal } from '../../map/decode.ts';
import type { Limits } from '../../map/limits.ts';
import type { RawValue } from '../../map/raw-values.ts';
import type { MapSignal } from '../../map/schema.ts';
import * as limit from './thresholds.ts';
import type { ProofItem, ProofVerdict } from './types.ts';

interface Values {
  readonly rows: readonly number[];
  readonly raws: readonly RawValue[];
}

function valuesOf(compiled: CompiledSignal, stream: Stream): Values {
  const rows: number[] = [];
  const raws: RawValue[] = [];
  for (let row = 0; row < stream.count; row++) {
    const offset = row * stream.stride;
    if (!compiled.present(stream.payload, offset, lengthAt(stream, row))) continue;
    rows.push(row);
    raws.push(compiled.raw(stream.payload, offset));
  }
  return { rows, raws };
}

interface Judgement {
  readonly verdict: ProofVerdict;
  readonly rate: number | null;
  readonly n: number;
  readonly detail: string;
  /** Indexes of values that disagree. */
  readonly strange: readonly number[];
}

const untested = (detail: string, n = 0): Judgement => ({
  verdict: 'not-exercised',
  rate: null,
  n,
  detail,
  strange: [],
});

function judgeStates(compiled: CompiledSignal, { raws }: Values): Judgement {
  const known = (raw: RawValue): boolean => compiled.stateOf(raw) !== null || compiled.invalidOf(raw) !== null;
  const strange = [...raws.keys()].filter((i) => !known(raws[i] as RawValue));
  const rate = 1 - strange.length / raws.length;
  const unknown = [...new Set(strange.map((i) => String(raws[i])))].slice(0, 8);
  const detail = unknown.length > 0 ? `values without a name: ${unknown.join(', ')}` : 'every value seen has a name';
  return { verdict: rate >= limit.VALUES_HOLD ? 'holds' : 'fails', rate, n: raws.length, detail, strange };
}

function judgeText(compiled: CompiledSignal, { raws }: Values): Judgement {
  const printable = (raw: RawValue): boolean => /^[\x20-\x7e\xa0-\xff]*$/.test(compiled.textOf(raw) ?? '\0');
  const strange = [...raws.keys()].filter((i) => !printable(raws[i] as RawValue));
  const rate = 1 - strange.length / raws.length;
  const verdict = rate >= limit.VALUES_HOLD ? 'holds' : 'fails';
  return {
    verdict,
    rate,
    n: raws.length,
    detail: `${raws.length - strange.length} of ${raws.length} are printable`,
    strange,
  };
}

/**
 * How the values move to, from and among places far beyond the range seen before: step by step (a harder drive), or by leaps
 * wider than that whole range (bits wrongly placed or coded, whose carries throw the value about). @returns how many times each.
 */
function movesFar(
  values: readonly number[],
  isFar: (value: number) => boolean,
  leap: number,
): { leaps: number; steps: number } {
  let [leaps, steps] = [0, 0];
  for (let i = 1; i < values.length; i++) {
    const [before, now] = [values[i - 1] as number, values[i] as number];
    if (!isFar(before) && !isFar(now)) continue;
    if (Math.abs(now - before) > leap) leaps++;
    else if (isFar(before) !== isFar(now)) steps++;
  }
  return { leaps, steps };
}

/** Whether a value is outside the range by more than this share of it; at least some raw steps, for narrow ranges. */
function beyond(signal: MapSignal, range: Limits, share: number): (value: number) => boolean {
  const least = signal.table ? 0 : limit.STEPS_BEYOND * Math.abs(signal.scale);
  const margin = Math.max(share * (range.max - range.min), least);
  return (value) => value < range.min - margin || value > range.max + margin;
}

function judgeNumber(compiled: CompiledSignal, { raws }: Values): Judgement {
  const kept = [...raws.keys()].filter((i) => compiled.invalidOf(raws[i] as RawValue) === null);
  const values = kept.map((i) => compiled.physicalOf(raws[i] as RawValue));
  const n = values.length;
  if (n < limit.VALUES_NEEDED) return untested(`${n} valid values are too few`, n);
  const range = compiled.signal.observed ?? compiled.signal.allowed;
  if (!range) return untested('the map names no range to hold it against', n);
  const outside = beyond(compiled.signal, range, limit.RANGE_MARGIN);
  const strange = kept.filter((_, k) => outside(values[k] as number));
  const rate = 1 - strange.length / n;
  const shown = `${describeExtent(values)} ${compiled.signal.unit}`.trim();
  const before = `before ${range.min} to ${range.max}`;
  const { leaps, steps } = movesFar(values, beyond(compiled.signal, range, 1), leapOf(values, range));
  if (leaps >= limit.LEAPS_REFUSED && leaps >= steps / 4) {
    const detail = `${shown}, ${before}, and leaping far beyond it ${leaps} times from one frame to the next`;
    return { verdict: 'fails', rate, n, detail, strange };
  }
  if (rate >= limit.VALUES_HOLD) return { verdict: 'holds', rate, n, detail: `${shown}, ${before}`, strange };
  const detail = `${shown}, beyond what was seen (${before}) without leaping there: a reference must decide`;
  return { verdict: 'not-exercised', rate, n, detail, strange };
}

/** A leap is wider than the range seen before, and a good part of all that was ever seen: the range may be that of a parked car. */
function leapOf(values: readonly number[], range: Limits): number {
  const least = values.reduce((a, b) => Math.min(a, b), range.min);
  const most = values.reduce((a, b) => Math.max(a, b), range.max);
  return Math.max(range.max - range.min, limit.LEAP_SHARE * (most - least));
}

function describeExtent(values: readonly number[]): string {
  const least = values.reduce((a, b) => Math.min(a, b), Infinity);
  const most = values.reduce((a, b) => Math.max(a, b), -Infinity);
  return `${Number(least.toPrecision(6))} to ${Number(most.toPrecision(6))}`;
}

function judge(compiled: CompiledSignal, values: Values): Judgement {
  const { signal } = compiled;
  if (values.raws.length < limit.VALUES_NEEDED)
    return untested(`${values.raws.length} frames are too few`, values.raws.length);
  const distinct = new Set(values.raws).size;
  const named = Object.keys(signal.states).length > 0 && signal.kind !== 'number';
  if (distinct === 1) return untested('constant in this capture', values.raws.length);
  if (signal.coding === 'text') return judgeText(compiled, values);
  if (named) return judgeStates(compiled, values);
  if (signal.kind === 'flag') {
    return { verdict: 'holds', rate: 1, n: values.raws.length, detail: `${distinct} values seen`, strange: [] };
  }
  return judgeNumber(compiled, values);
}

export function proveSignals(frame: CompiledFrame, stream: Stream): ProofItem[] {
  return frame.signals.map((compiled) => {
    const values = valuesOf(compiled, stream);
    const { strange, ...judgement } = judge(compiled, values);
    const moments = strange.slice(0, 20).map((i) => (stream.timeUs[values.rows[i] as number] as number) / 1e6);
    return { item: 'signal' as const, name: compiled.signal.name, ...judgement, moments };
  });
}
