/** The job `report-traces`: a part a frame, each on its own identifier alone; frames that the capture lacks have none; buses may be named otherwise. */
import { expect, it } from 'vitest';
import { inPlaceRunner, runAnalysis } from '../../src/jobs/run-analysis.ts';
import { reportTracesJob, type ReportTracesRequest } from '../../src/jobs/analyses/report-traces.ts';
import { tableOfLines, type LogLine } from '../support/log-table.ts';
import type { FrameTable } from '../../src/frames/table.ts';
import type { ReportTraces } from '../../src/handover/report/traces.ts';
import { aFrame, aSignal } from '../support/map-parts.ts';

const frameOf = (id: string, bus = 'can0') =>
  aFrame({ id, bus, length: 1, signals: [aSignal({ name: `of_${id}`, lsb: { byte: 0, bit: 0 }, length: 8 })] });
const lines = Array.from({ length: 40 }, (_, k): LogLine => [
  k * 0.1,
  k % 2 ? '123' : '124',
  (k % 16).toString(16).padStart(2, '0').toUpperCase(),
]);

const run = (table: FrameTable, request: ReportTracesRequest): Promise<ReportTraces> =>
  runAnalysis(table, 'report-traces', request, inPlaceRunner(), {}) as Promise<ReportTraces>;

it('reads each frame of the map that the capture has, over the whole capture', async () => {
  const table = await tableOfLines(lines);
  const request = {
    job: 'report-traces' as const,
    title: 'bench',
    frames: ['0x123', '0x124', '0x125'].map((id) => frameOf(id)),
  };
  const parts = reportTracesJob.parts(request, table);
  expect(parts.map(({ streams }) => streams.map(({ id }) => id))).toEqual([[0x123], [0x124]]);
  const made = await run(table, request);
  expect(made.frames.map(({ id, signals }) => [id, signals.map(({ least, greatest }) => [least, greatest])])).toEqual([
    ['0x123', [[1, 15]]],
    ['0x124', [[0, 14]]],
  ]);
  expect([made.title, made.window.fromS, made.window.toS, made.window.columns]).toEqual(['bench', 0, 3.9, 354]);
});

it('finds a bus under the name that the capture has for it', async () => {
  const table = await tableOfLines(lines);
  const request = {
    job: 'report-traces' as const,
    title: '',
    frames: [frameOf('0x123', 'drive bus')],
    busMap: { 'drive bus': 'can0' },
  };
  expect((await run(table, request)).frames).toHaveLength(1);
  expect((await run(table, { ...request, busMap: { 'drive bus': null } })).frames).toEqual([]);
});
