/** Which of two identifiers is a gateway's copy, where each bus has a logger: told by who came first only as far as the two clocks are known. */
import { describe, expect, it } from 'vitest';
import { runSteps } from '../../src/frames/pictures/steps.ts';
import { alignLoggers } from '../../src/timing/clock/loggers/align.ts';
import { surveyTable } from '../../src/timing/survey.ts';
import { record, type Scene } from './two-loggers.ts';

const SEEDS = Array.from({ length: 6 }, (_, i) => `direction/${i}`);
const scene = (gateway: Scene['gateway'], delayS: number, back: number): Scene => ({
  durationS: 60,
  forth: 3,
  back,
  gateway,
  delayS,
  second: { offsetS: -3.7, driftPpm: 25, stepS: 1e-4, loss: 0.01 },
});

/** Over the seeds: copies named right, named the wrong way round, and identifiers whose direction is not told. */
function tellAll(each: Scene): { right: number; reversed: number; untold: number } {
  let [right, reversed, untold] = [0, 0, 0];
  for (const seed of SEEDS) {
    const { frames } = surveyTable(runSteps(alignLoggers(record(seed, each))), {});
    for (const { bus, id, copyOf, groupWhy } of frames) {
      // Originals are 0x100.. on the first bus and 0x400.. on the second.
      const isOriginal = Number(id) < 0x400 ? bus === 'can0' : bus === 'can1';
      if (copyOf && isOriginal) reversed++;
      else if (copyOf) right++;
      if (/direction not told/.test(groupWhy)) untold++;
    }
  }
  return { right, reversed, untold };
}

describe('the direction of copies between two loggers', () => {
  it('is told where frames go both ways and are passed on at once', () => {
    const { right, reversed } = tellAll(scene('at-once', 0.003, 2));
    expect(reversed).toBe(0);
    expect(right).toBeGreaterThan(15);
  });

  it.each([
    ['polled', 0.0003, 0],
    ['polled', 0.0003, 2],
    ['at-once', 0.0003, 0],
  ] as const)('is never the wrong one within the error of the clocks: %s, %d s, %i back', (gateway, delayS, back) => {
    const told = tellAll(scene(gateway, delayS, back));
    expect(told.reversed).toBe(0);
  });
});
