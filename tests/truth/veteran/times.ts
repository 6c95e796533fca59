/** When each frame of a drive was sent: modules wake and fall asleep, frames come in their periods or on a change. */
import type { Random } from '../../../src/kit/random.ts';
import { STEP_S } from './columns.ts';
import type { Module } from './draw-vehicle.ts';
import type { FrameLayout } from './layout.ts';
import type { Trip } from './trip.ts';

/** Seconds; awake from..to. */
interface Wake {
  readonly fromS: number;
  readonly toS: number;
}

export function wakesOf({ wakes, bootS, afterRunS }: Module, { columns, durationS }: Trip): Wake[] {
  if (wakes === 'always') return [{ fromS: -5, toS: durationS }];
  const [key, plugged] = [columns.get('key'), columns.get('plugged')];
  const found: { fromS: number; toS: number }[] = [];
  for (let row = 0; row < columns.count; row++) {
    if (key[row] === 0 && !(wakes === 'key or plug' && plugged[row] === 1)) continue;
    const timeS = row * STEP_S;
    const last = found.at(-1);
    if (last && timeS < last.toS) last.toS = Math.min(durationS, timeS + afterRunS);
    else found.push({ fromS: timeS + bootS, toS: Math.min(durationS, timeS + bootS + afterRunS) });
  }
  return found;
}

export interface Sent {
  readonly timeS: number;
  readonly awakeS: number;
  /** Which wake of the module. */
  readonly wake: number;
}

function changesOf(watches: readonly string[], { columns }: Trip): Uint8Array {
  const changed = new Uint8Array(columns.count);
  for (const name of watches.filter((each) => columns.has(each))) {
    const values = columns.get(name);
    for (let row = 1; row < values.length; row++) if (values[row] !== values[row - 1]) changed[row] = 1;
  }
  return changed;
}

const REPEAT_S = 0.02;

export function sentIn({ timing }: FrameLayout, wakes: readonly Wake[], trip: Trip, random: Random): Sent[] {
  const { periodS, jitter, watches, repeats } = timing;
  const changed = watches.length > 0 ? changesOf(watches, trip) : null;
  const phaseS = random.between(0, periodS);
  const sent: Sent[] = [];
  wakes.forEach(({ fromS, toS }, wake) => {
    let dueS = fromS + phaseS * (0.2 + 0.8 * random.next());
    let pending = 0;
    for (let timeS = dueS; timeS < toS;) {
      const atS = timeS + Math.abs(random.normal()) * jitter * Math.min(periodS, 0.1);
      if (atS >= 0 && atS < toS) sent.push({ timeS: atS, awakeS: atS - fromS, wake });
      if (!changed) {
        dueS += periodS;
        timeS = dueS;
        continue;
      }
      let row = trip.columns.rowAt(timeS) + 1;
      const last = Math.min(trip.columns.rowAt(timeS + (pending > 0 ? REPEAT_S : periodS)), trip.columns.count - 1);
      while (row < last && changed[row] === 0) row++;
      const isNews = row < last && row * STEP_S > timeS + 0.005;
      timeS = isNews ? row * STEP_S + 0.001 : timeS + (pending > 0 ? REPEAT_S : periodS);
      pending = isNews ? repeats : Math.max(0, pending - 1);
    }
  });
  return sent;
}
