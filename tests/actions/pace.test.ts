/** What only counts answers with its pace: pulses a second while a lever is held, and none beside. */
import { describe, expect, it } from 'vitest';
import { answeringSeries } from '../../src/actions/pace.ts';
import { candidatesOf } from '../../src/map/proposed-fields.ts';
import { series, worldOf } from './scenario.ts';

const SECONDS = 60;
const isRunning = (atS: number): boolean => atS % 10 > 4 && atS % 10 < 8;
/** 200 counts a second while it runs. */
let count = 0;
const counts = series(SECONDS, (k) => (count += isRunning(k * 0.02) ? 4 : 0) % 65_536);
const swings = series(SECONDS, (k) => 1000 + 900 * Math.sin(k / 40));

describe('the series that a field answers with', () => {
  const { table, frames } = worldOf(
    [
      { name: 'pulses', values: counts, periodS: 0.02 },
      { name: 'swing', values: swings, periodS: 0.02 },
    ],
    SECONDS,
    4,
  );
  const [pulses, swing] = candidatesOf(table, frames).map(answeringSeries);

  it('is its pace where it only counts', () => {
    expect(pulses?.isPace).toBe(true);
    const at = (second: number): number => pulses?.value[pulses.timeUs.findIndex((us) => us >= second * 1e6)] as number;
    expect(at(3)).toBe(0);
    expect(at(13)).toBe(0);
    expect(at(6)).toBeGreaterThan(0);
    expect(at(16) / at(6)).toBeCloseTo(1, 1);
  });

  it('is where it stands for what goes up and down', () => {
    expect(swing?.isPace).toBe(false);
  });
});
