/**
 * Two published recordings of real machines, read critically. They are not part of the project: the test runs where
 * LOOMSCRIBE_REAL_RECORDINGS names the folder that holds them. Frame and identifier counts are from the folder's own README.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { memorySource } from '../../src/frames/source.ts';
import { createInlineEngine } from '../../src/jobs/engine.ts';
import type { Survey, SurveyFrame } from '../../src/timing/types.ts';

const folder = process.env['LOOMSCRIBE_REAL_RECORDINGS'];

async function surveyOf(name: string): Promise<Survey> {
  const engine = createInlineEngine();
  const bytes = new Uint8Array(readFileSync(join(folder as string, name)));
  const outcome = await engine.open([{ source: memorySource(name, bytes) }], {});
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  const [bus] = outcome.value.buses;
  return engine.survey({ [bus as string]: { bitrate: 500_000, dataBitrate: null } });
}
const kinds = (survey: Survey, of: (frame: SurveyFrame) => boolean): string[] => [
  ...new Set(survey.frames.filter(of).map((frame) => frame.timing.kind)),
];
/** Periods that a schedule would have: within 0.3 % of a whole number of milliseconds. */
const isRound = ({ timing }: SurveyFrame): boolean => {
  const periodMs = timing.periodMs ?? 0.5;
  return Math.abs(periodMs - Math.round(periodMs)) < 0.003 * periodMs;
};

describe.skipIf(!folder)('published recordings of real machines', () => {
  it('a light truck: 120,000 frames, 22 identifiers, all that repeat are on a grid, the logger stopped once', async () => {
    const survey = await surveyOf('light-truck.csv.gz');
    expect(survey.capture).toMatchObject({ frames: 120_000, rejected: 0, originS: '1573220073.369233' });
    expect(survey.frames).toHaveLength(22);
    expect(survey.capture.durationS).toBeCloseTo(231.474, 3);
    expect(kinds(survey, (frame) => frame.count > 10)).toEqual(['periodic']);
    expect(kinds(survey, (frame) => frame.count === 1)).toEqual(['once']);
    expect(survey.frames.filter((frame) => frame.count > 10).every(isRound)).toBe(true);
    expect(survey.buses[0]?.gaps).toHaveLength(1);
    expect(survey.capture.clock.resolutionUs).toBe(1);
  });

  it('a battery on the bench: batched millisecond stamps do not hide the periods, polls are told from broadcasts', async () => {
    const survey = await surveyOf('battery-bench.csv.gz');
    expect(survey.capture.frames).toBe(31_800);
    expect(survey.frames).toHaveLength(31);
    expect(survey.capture.clock).toMatchObject({ resolutionUs: 1000 });
    expect(survey.capture.clock.verdict).toContain('batches');
    const reply = survey.frames.find((frame) => frame.timing.kind === 'reply');
    expect(reply).toMatchObject({ id: '0x7EF', direction: 'received', timing: { replyTo: '0x7E7' } });
    const broadcasts = (frame: SurveyFrame): boolean =>
      frame.direction === 'received' && frame.count > 200 && frame.id !== '0x7EF';
    expect(kinds(survey, broadcasts)).toEqual(['periodic']);
    expect(survey.frames.filter(broadcasts).every(isRound)).toBe(true);
    expect(survey.buses.map((bus) => bus.sent > 0)).toEqual([true, true]);
  });
});
