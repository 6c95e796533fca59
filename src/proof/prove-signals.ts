/**
 * Whether a signal's values make sense in another capture: states named, numbers within what was observed before. A constant
 * tests nothing. Numbers that go beyond the range in small steps may be a harder drive, so they are not refused; numbers
 * that leap there are wrongly placed or coded. Scale and sign show only against a reference.
 */
import { lengthAt, type Stream } from '../frames/table.ts';
import type { CompiledFrame, CompiledSignal } from '../map/decode.ts';
import { knownRange } from '../map/limits.ts';
import type { RawValue } from '../map/raw-values.ts';
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
 * How the values move beyond the widened range: in small steps (a harder drive), or in leaps over a good part of all that
 * was ever seen (bits wrongly placed, whose carries throw the value about). @returns how many times each.
 */
function movesBeyond(
  values: readonly number[],
  outside: (value: number) => boolean,
  leap: number,
): { leaps: number; entries: number } {
  let [leaps, entries] = [0, 0];
  for (let i = 1; i < values.length; i++) {
    const [before, now] = [values[i - 1] as number, values[i] as number];
    if (!outside(before) && !outside(now)) continue;
    if (Math.abs(now - before) >= leap) leaps++;
    else if (!outside(before)) entries++;
  }
  return { leaps, entries };
}

function judgeNumber(compiled: CompiledSignal, { raws }: Values): Judgement {
  const kept = [...raws.keys()].filter((i) => compiled.invalidOf(raws[i] as RawValue) === null);
  const values = kept.map((i) => compiled.physicalOf(raws[i] as RawValue));
  if (values.length < limit.VALUES_NEEDED) return untested(`${values.length} valid values are too few`, values.length);
  const range = knownRange(compiled.signal);
  if (!range) return untested('the map names no range to hold it against', values.length);
  const margin = limit.RANGE_MARGIN * (range.max - range.min);
  const outside = (value: number): boolean => value < range.min - margin || value > range.max + margin;
  const strange = kept.filter((_, k) => outside(values[k] as number));
  const rate = 1 - strange.length / values.length;
  const least = values.reduce((a, b) => Math.min(a, b), Infinity);
  const most = values.reduce((a, b) => Math.max(a, b), -Infinity);
  const shown = `${Number(least.toPrecision(6))} to ${Number(most.toPrecision(6))} ${compiled.signal.unit}`.trim();
  const before = `before ${range.min} to ${range.max}`;
  if (rate >= limit.VALUES_HOLD)
    return { verdict: 'holds', rate, n: values.length, detail: `${shown}, ${before}`, strange };
  const extent = Math.max(most, range.max) - Math.min(least, range.min);
  const { leaps, entries } = movesBeyond(values, outside, limit.LEAP_SHARE * extent);
  if (leaps < limit.LEAPS_REFUSED || leaps < entries / 4) {
    const detail = `${shown}, beyond ${before} without leaping there: a reference must decide`;
    return { verdict: 'not-exercised', rate, n: values.length, detail, strange };
  }
  const detail = `${shown}, ${before}, and leaping there ${leaps} times from one frame to the next`;
  return { verdict: 'fails', rate, n: values.length, detail, strange };
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
