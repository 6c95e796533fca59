/**
 * The whole chain on the demo's vehicle (seed of the demo, 150 s): a map that the schema accepts, in which what was measured
 * has its true scale, and payloads at rest from a moment at which the vehicle really stood.
 */
import { describe, expect, it } from 'vitest';
import { parseMarks } from '../../src/actions/marks.ts';
import { marksCsv, observeMarks } from '../../src/demo/marks.ts';
import { makePostVan } from '../../src/demo/post-van.ts';
import { recordDrive } from '../../src/demo/record.ts';
import { tableOf } from '../../src/demo/recording/to-table.ts';
import { referenceCsv, takeReferences } from '../../src/demo/reference-readings.ts';
import { writeScript } from '../../src/demo/script.ts';
import { draftMap, type Draft } from '../../src/draft/draft.ts';
import type { Outcome } from '../../src/kit/outcome.ts';
import { parseReference } from '../../src/reference/reference-file.ts';
import { checkMap } from '../../src/map/check.ts';
import { signalMapSchema, type MapSignal } from '../../src/map/schema.ts';

const SEED = 11;
const DURATION_S = 150;
const START_EPOCH_S = 1_773_043_272;
const AHEAD_S = 2.5;

function valueOf<T>(outcome: Outcome<T>): T {
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  return outcome.value;
}

const vehicle = makePostVan();
const script = writeScript(SEED, { durationS: DURATION_S });
const drive = recordDrive(vehicle, script, { startEpochS: START_EPOCH_S });
const table = tableOf(drive.recording);
const observed = observeMarks(script, { startEpochS: START_EPOCH_S, aheadS: AHEAD_S, missed: 1, extra: 1, seed: SEED });
const marks = valueOf(parseMarks(marksCsv(observed), 'marks.csv'));
const rows = takeReferences(drive.truth, { startEpochS: START_EPOCH_S, seed: SEED, readings: 9 });
const reference = valueOf(parseReference(referenceCsv(rows), 'reference.csv'));

const shares: number[] = [];
const draft: Draft = await draftMap(
  {
    table,
    rates: { can0: { bitrate: 500_000, dataBitrate: null } },
    marks,
    reference,
    part: { title: 'Drive unit' },
    now: '2026-03-09T08:00:00Z',
    by: 'loomscribe test',
    seed: 1,
  },
  { onProgress: ({ share }) => shares.push(share) },
);
const signals = draft.map.frames.flatMap((frame) => frame.signals.map((signal) => ({ frame, signal })));
const fitted = (quantity: string): { id: string; signal: MapSignal } | undefined =>
  signals
    .filter(({ signal }) => signal.evidence.some((one) => one.kind === 'fit' && one['quantity'] === quantity))
    .map(({ frame, signal }) => ({ id: frame.id, signal }))[0];

describe(`draftMap on the post van (seed ${SEED}, ${DURATION_S} s)`, () => {
  it('writes a map that the schema and the checker accept', () => {
    expect(signalMapSchema.safeParse(draft.map).success).toBe(true);
    expect(checkMap(draft.map).errors).toEqual([]);
    expect(draft.map.frames.length).toBe(table.streams.filter(({ direction }) => direction === 'received').length);
    expect(draft.map.buses[0]).toEqual({ name: 'can0', bitrate: 500_000, dataBitrate: null });
  });

  it('finds the clock of the phone, reaction included', () => {
    expect(Math.abs((draft.links?.clockOffsetS ?? 0) + AHEAD_S + 0.3)).toBeLessThan(0.1);
  });

  it('names what the driver touched: the pedals in the frame they are in', () => {
    const byAction = (action: string): string[] =>
      signals
        .filter(({ signal }) => signal.evidence.some((one) => one.kind === 'link' && one['action'] === action))
        .map(({ frame }) => frame.id);
    const trueFrames = (name: string): string[] =>
      vehicle.frames.filter(({ fields }) => fields.some((field) => field.name === name)).map(({ map }) => map.id);
    expect(byAction('brake pressed')).toEqual(expect.arrayContaining(trueFrames('brake_pressed').slice(0, 1)));
    expect(byAction('accelerator pressed')).toEqual(expect.arrayContaining(trueFrames('accelerator').slice(0, 1)));
  });

  it('brings the pack current of the hand readings to its true scale', () => {
    const truth = vehicle.frames
      .flatMap(({ map }) => map.signals)
      .find(({ name }) => name === 'pack_current') as MapSignal;
    const found = fitted('pack_current');
    expect(found).toBeDefined();
    expect(Math.abs((found as { signal: MapSignal }).signal.scale / truth.scale)).toBeCloseTo(1, 1);
  });

  it('takes payloads at rest from a moment without speed', () => {
    const rest = draft.map.frames.map((frame) => frame.rest).filter((one) => one !== null);
    expect(rest.length).toBeGreaterThan(0.7 * draft.map.frames.length);
    const { fromS, toS } = rest[0] as (typeof rest)[number];
    const originS = (drive.recording.timeUs[0] ?? 0) / 1e6;
    const speedAt = (atS: number): number =>
      drive.truth.columns.vehicle_speed[Math.round((atS + originS) / drive.truth.stepS)] as number;
    expect(Math.max(speedAt(fromS), speedAt((fromS + toS) / 2), speedAt(toS))).toBeLessThan(1);
  });

  it('reports progress that never falls and ends at 1', () => {
    expect(shares.every((share, i) => i === 0 || share >= (shares[i - 1] as number) - 1e-12)).toBe(true);
    expect(shares[shares.length - 1]).toBe(1);
  });
});
