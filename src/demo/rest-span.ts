/** The longest stretch of a drive in which the vehicle was ready, in park, and nobody touched a pedal. */
import type { Drive } from './record.ts';
import { MODE, SELECTOR } from './physics/state.ts';
import type { RestSpan } from './true-map.ts';

export function restSpan({ truth, recording }: Drive): RestSpan | null {
  const { vehicle_mode, selector, accelerator, brake_pressed } = truth.columns;
  const originS = (recording.timeUs[0] ?? 0) / 1e6;
  let best: RestSpan | null = null;
  let from = -1;
  for (let step = 0; step <= truth.steps; step++) {
    const resting =
      step < truth.steps &&
      vehicle_mode[step] === MODE.ready &&
      selector[step] === SELECTOR.P &&
      accelerator[step] === 0 &&
      brake_pressed[step] === 0;
    if (resting && from < 0) from = step;
    if (resting || from < 0) continue;
    const span = { fromS: from * truth.stepS - originS, toS: step * truth.stepS - originS };
    if (!best || span.toS - span.fromS > best.toS - best.fromS) best = span;
    from = -1;
  }
  return best;
}
