/** Whatever a capture holds, the survey answers in the contract's shape with finite numbers: a few frames, equal stamps, empty payloads. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { buildTable } from '../../src/frames/build-table.ts';
import type { BusRates } from '../../src/timing/types.ts';
import { surveyTable } from '../../src/timing/survey.ts';
import { surveyShape } from '../support/contract-shapes.ts';

const frame = fc.record({
  timeUs: fc.oneof(fc.nat(50), fc.nat(5_000_000), fc.double({ min: 0, max: 1e9, noNaN: true })),
  bus: fc.constantFrom('can0', 'can1'),
  id: fc.constantFrom(0, 0x7e0, 0x7e8, 0x7ff, 0x1fffffff),
  direction: fc.constantFrom('received', 'sent'),
  data: fc.uint8Array({ maxLength: 8 }),
} as const);
const rates = fc.constantFrom<BusRates>({}, { can0: { bitrate: 500_000, dataBitrate: null } });

function expectFinite(value: unknown, path: string): void {
  if (typeof value === 'number') expect(Number.isFinite(value), path).toBe(true);
  else if (value !== null && typeof value === 'object')
    for (const [key, inner] of Object.entries(value)) expectFinite(inner, `${path}.${key}`);
}

describe('odd captures', () => {
  it('are surveyed', () => {
    fc.assert(
      fc.property(fc.array(frame, { minLength: 1, maxLength: 60 }), rates, (frames, given) => {
        const survey = surveyTable(buildTable(frames), given);
        expectFinite(survey, 'survey');
        expect(surveyShape.safeParse(JSON.parse(JSON.stringify(survey))).error).toBeUndefined();
        expect(survey.frames.reduce((sum, row) => sum + row.count, 0)).toBe(frames.length);
        expect(survey.buses.reduce((sum, bus) => sum + bus.frames + bus.sent, 0)).toBe(frames.length);
        for (const row of survey.frames) expect(row.timingWhy.length).toBeGreaterThan(5);
      }),
      { numRuns: 300 },
    );
  });

  it('a capture without a single data frame has an empty survey', () => {
    const survey = surveyTable(buildTable([]), {});
    expect(survey.capture).toMatchObject({ frames: 0, durationS: 0 });
    expect(survey.frames).toEqual([]);
    expectFinite(survey, 'survey');
  });

  it('a span that holds no frame has an empty survey', () => {
    const table = buildTable([0, 1, 2].map((i) => ({ timeUs: i * 1e6, bus: 'can0', id: 1, data: [1] })));
    const survey = surveyTable(table, { can0: { bitrate: 500_000, dataBitrate: null } }, { fromS: 0.2, toS: 0.8 });
    expect(survey.capture.frames).toBe(0);
    expectFinite(survey, 'survey');
  });

  it('a load beyond the wire is no load: the bit rate is doubted', () => {
    const frames = Array.from({ length: 5000 }, (_, i) => ({
      timeUs: i * 300,
      bus: 'can0',
      id: 0x100,
      data: new Uint8Array(8),
    }));
    const [bus] = surveyTable(buildTable(frames), { can0: { bitrate: 125_000, dataBitrate: null } }).buses;
    expect(bus?.load).toBeNull();
    expect(bus?.loadWhy).toContain('bit rate is too low');
  });
});
