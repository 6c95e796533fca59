/** Counter findings in the map's shape, with their reasons in words. */
import { grouped } from '../kit/figures.ts';
import type { MapCounter, When } from '../map/schema.ts';
import type { CounterFinding } from './counter-at.ts';
import { placeName } from './describe.ts';
import type { Explained } from './types.ts';

function whyOf(counter: CounterFinding, onChange: boolean): string {
  const { step, every, min, max, right, steps, lost, rounds } = counter;
  const pace = onChange
    ? 'every frame that differs from the one before'
    : every === 1
      ? 'every frame'
      : `every ${every} frames`;
  const round =
    rounds > 0 ? `from ${min} to ${max} and round again` : `presumably from ${min} to ${max}, as it did not come round`;
  const what = counter.length === 1 ? `Toggles at ${pace}` : `Steps by ${step} at ${pace}, ${round}`;
  const losses = lost > 0 ? ` ${grouped(lost)} larger jumps fit frames that the log lost.` : '';
  const share = `${grouped(right)} of ${grouped(steps)} steps were as predicted`;
  return `${what}: ${share}${counter.length > 1 ? `, ${grouped(rounds)} rounds` : ''}.${losses}`;
}

/** The share of right steps with one wrong step added, so that few steps are not taken for certainty. */
const sure = (right: number, steps: number): number => Math.round((100 * right) / (steps + 1)) / 100;

/** Of what never came round no end was seen: that it runs over all its bits is presumed. */
const withPresumedEnds = (counter: CounterFinding): CounterFinding =>
  counter.rounds > 0 || counter.length === 1 ? counter : { ...counter, min: 0, max: 2 ** counter.length - 1 };

/** onChange: it steps only when the frame says something new; the rows it was tallied on leave the repeats out. */
export function counterOf(seen: CounterFinding, when: When, onChange = false): Explained<MapCounter> {
  const counter = withPresumedEnds(seen);
  const { lsb, length, order, step, every, min, max, right, lost, steps } = counter;
  return {
    name: `counter_${placeName(counter)}`,
    lsb: { ...lsb },
    length,
    order,
    step,
    every,
    min,
    max,
    when,
    confidence: Math.min(0.99, sure(right + lost, steps)),
    why: whyOf(counter, onChange),
  };
}
