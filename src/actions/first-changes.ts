/**
 * When an action was done in captures without marks, as far as its own responders tell: the moments at which the one that stands apart most leaves the value
 * at which it rests. Which of the others changes before it and which behind is then known, though not how long after the hand.
 */
import { lowerBound, upperBound } from '../frames/pictures/columns.ts';
import { median } from '../kit/statistics/order.ts';
import type { FieldSeries } from '../map/field-series.ts';
import type { Stretch } from './joined-captures.ts';

/** Share of the way from rest to the farthest value. */
const LEFT = 0.4;
/** A thing done twice within this is done once. */
const APART_US = 1e6;

/** Instants, seconds on the joined table's clock, ascending. */
export function departures(series: FieldSeries, stretches: readonly Stretch[]): number[] {
  // Where it stands at most times, over all captures.
  const rest = median(series.value);
  const away = (value: number): number => Math.abs(value - rest);
  const times: number[] = [];
  for (const { fromUs, toUs } of stretches) {
    const [from, to] = [lowerBound(series.timeUs, fromUs), upperBound(series.timeUs, toUs)];
    const farthest = series.value.subarray(from, to).reduce((most, value) => Math.max(most, away(value)), 0);
    if (farthest === 0) continue;
    let isAway = true;
    let lastUs = -Infinity;
    for (let row = from; row < to; row++) {
      const atUs = series.timeUs[row] as number;
      const now = away(series.value[row] as number) > LEFT * farthest;
      if (now && !isAway && atUs - lastUs > APART_US) times.push(atUs / 1e6);
      if (now) lastUs = atUs;
      isAway = now;
    }
  }
  return times;
}
