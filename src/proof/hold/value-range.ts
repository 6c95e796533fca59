/** Whether a signal's values stay within what was seen and allowed before, and whether its states all have names. */
import type { CompiledSignal } from '../../map/decode.ts';
import type { Limits } from '../../map/limits.ts';
import type { RawValue } from '../../map/raw-values.ts';
import type { PlaceJudgement } from './place-types.ts';
import type { SignalValues } from './signal-values.ts';
import * as limit from './thresholds.ts';

export interface ValuesJudgement extends PlaceJudgement {
  readonly rate: number | null;
}

/** States that the map has no name for were never seen before: the list is not whole, or the bits are not the state's. */
export function judgeStates(compiled: CompiledSignal, { rows, raws }: SignalValues): ValuesJudgement {
  const strange = [...raws.keys()].filter((i) => compiled.stateOf(raws[i] as RawValue) === null);
  const rate = 1 - strange.length / raws.length;
  const unknown = [...new Set(strange.map((i) => String(raws[i])))].slice(0, 8);
  return {
    verdict: rate >= limit.VALUES_HOLD ? 'holds' : 'fails',
    rate,
    detail: unknown.length > 0 ? `values without a name: ${unknown.join(', ')}` : 'every value seen has a name',
    figures: { values: raws.length, named: raws.length - strange.length, unnamedStates: unknown.length },
    strange: strange.map((i) => rows[i] as number),
  };
}

const shown = (value: number): string => String(Number(value.toPrecision(6)));

/** How far outside a range a value may lie: a share of it, and some raw steps at least where it is narrow. */
function marginOf({ signal }: CompiledSignal, { min, max }: Limits): number {
  const least = signal.table ? 0 : limit.STEPS_BEYOND * Math.abs(signal.scale);
  return Math.max(limit.RANGE_MARGIN * (max - min), least);
}

function outsideOf(values: Float64Array, { min, max }: Limits, margin: number): number[] {
  return [...values.keys()].filter((i) => (values[i] as number) < min - margin || (values[i] as number) > max + margin);
}

/** Beyond what is allowed refuses; beyond what was seen before only leaves the range open. */
export function judgeRange(compiled: CompiledSignal, { rows, raws }: SignalValues): ValuesJudgement {
  const { signal } = compiled;
  const values = Float64Array.from(raws, compiled.physicalOf);
  const least = values.reduce((a, b) => Math.min(a, b), Infinity);
  const most = values.reduce((a, b) => Math.max(a, b), -Infinity);
  const extent = `${shown(least)} to ${shown(most)} ${signal.unit}`.trim();
  const rowsOf = (places: readonly number[]): number[] => places.map((i) => rows[i] as number);
  const { allowed, observed } = signal;
  if (allowed) {
    const forbidden = outsideOf(values, allowed, Math.abs(signal.scale));
    if (forbidden.length > (1 - limit.VALUES_HOLD) * values.length)
      return {
        verdict: 'fails',
        rate: 1 - forbidden.length / values.length,
        detail: `${extent}, and ${shown(allowed.min)} to ${shown(allowed.max)} is allowed`,
        figures: { least, most, forbidden: forbidden.length },
        strange: rowsOf(forbidden),
      };
  }
  if (!observed)
    return {
      verdict: 'not-exercised',
      rate: null,
      detail: `${extent}; the map names no range to hold it against`,
      figures: { least, most },
      strange: [],
    };
  const outside = outsideOf(values, observed, marginOf(compiled, observed));
  const rate = 1 - outside.length / values.length;
  const width = observed.max - observed.min;
  const both = Math.max(0, Math.min(most, observed.max) - Math.max(least, observed.min));
  const figures = { least, most, covered: width > 0 ? both / width : 0, outside: outside.length };
  const before = `before ${shown(observed.min)} to ${shown(observed.max)}`;
  if (rate >= limit.VALUES_HOLD)
    return { verdict: 'holds', rate, detail: `${extent}, ${before}`, figures, strange: rowsOf(outside) };
  const detail = `${extent}, beyond what was seen (${before}): its range is not held, and a reference must decide on its scale`;
  return { verdict: 'not-exercised', rate, detail, figures, strange: rowsOf(outside) };
}
