/**
 * A field's course on even instants, as it stands and as something with a first-order lag would follow it: what leaders are compared by.
 * The step response of a first-order lag is the plainest model of a plant that answers a command (common practice, no source).
 */
import { ValueReader } from '../../fields/same-value/pairs.ts';
import type { ComparedField } from '../../fields/same-value/series.ts';

export interface Course {
  readonly stepUs: number;
  /** [points] NaN in silences. */
  readonly value: Float64Array;
}

export function courseOf(field: ComparedField, stepUs: number, lengthUs: number): Course {
  const reader = new ValueReader(field, 'value');
  const value = Float64Array.from({ length: Math.ceil(lengthUs / stepUs) + 1 }, (_, k) => reader.at(k * stepUs));
  return { stepUs, value };
}

/** The course as a first-order lag follows it, exact for a course that is straight within a step; begins settled after each silence. */
export function followed({ stepUs, value }: Course, constantUs: number): Course {
  if (constantUs === 0) return { stepUs, value };
  const ratio = stepUs / constantUs;
  const decay = Math.exp(-ratio);
  // Weights of a step's first and last value for an input that is straight between them.
  const first = (1 - decay) / ratio - decay;
  const last = 1 - (1 - decay) / ratio;
  const out = new Float64Array(value.length);
  let state = Number.NaN;
  for (let k = 0; k < value.length; k++) {
    const here = value[k] as number;
    const before = k > 0 ? (value[k - 1] as number) : Number.NaN;
    state = Number.isNaN(state) || Number.isNaN(before) ? here : decay * state + first * before + last * here;
    out[k] = state;
  }
  return { stepUs, value: out };
}

/** NaN outside and beside silences. */
export function readAt({ stepUs, value }: Course, atUs: number): number {
  const at = atUs / stepUs;
  const k = Math.floor(at);
  if (k < 0 || k + 1 >= value.length) return Number.NaN;
  const here = value[k] as number;
  return here + (at - k) * ((value[k + 1] as number) - here);
}
