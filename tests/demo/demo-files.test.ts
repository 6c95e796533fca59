import { describe, expect, it } from 'vitest';
import { makeDemo, writeDemo, PHONE_AHEAD_S, type Demo, type DemoFile } from '../../src/demo/demo-files.ts';
import { demoDossier } from '../../src/demo/dossier.ts';
import type { Recording } from '../../src/demo/recording/logger.ts';
import { tableOf } from '../../src/demo/recording/to-table.ts';
import { SATELLITE_DELAY_S, TYRE_FACTOR } from '../../src/demo/reference-readings.ts';
import { digestOf } from '../../src/demo/true-map.ts';
import { checkTable } from '../../src/frames/check-table.ts';
import { readCapture } from '../../src/frames/read-capture.ts';
import { memorySource } from '../../src/frames/source.ts';
import type { FrameTable } from '../../src/frames/table.ts';
import { dossierSchema } from '../../src/jobs/dossier.ts';
import { signalMapSchema } from '../../src/map/schema.ts';

const SCALE = 0.35;
const demo: Demo = await makeDemo({ scale: SCALE });
const files: readonly DemoFile[] = await writeDemo(demo);
const fileNamed = (name: string): DemoFile => files.find((file) => file.name === name) as DemoFile;
const textOf = (name: string): string => new TextDecoder().decode(fileNamed(name).bytes);
const rowsOf = (name: string): string[][] =>
  textOf(name)
    .trim()
    .split('\n')
    .slice(1)
    .map((line) => line.split(','));

async function read(name: string): Promise<FrameTable> {
  const outcome = await readCapture([{ source: memorySource(name, fileNamed(name).bytes) }], {}, {});
  if (!outcome.ok) throw new Error(outcome.problems[0].message);
  return outcome.value;
}

describe('the demo as files', () => {
  it('are the same bytes for the same seed and others for another', async () => {
    const again = await writeDemo(await makeDemo({ scale: SCALE }));
    expect(again.map(({ bytes }) => digestOf(bytes))).toEqual(files.map(({ bytes }) => digestOf(bytes)));
    const other = await writeDemo(await makeDemo({ scale: SCALE, seed: 5 }));
    expect(digestOf(other[0]?.bytes as Uint8Array)).not.toBe(digestOf(files[0]?.bytes as Uint8Array));
  });

  it.each([
    ['drive-1.log', 0, 0, 0],
    ['drive-2.pcapng', 1, 3, 0],
    ['inverter-unplugged.csv', 2, 1, 0],
    ['key-on.log', 3, 0, 0],
    // Switched on five times, and silent in between, three times for more than the reader passes over.
    ['bench.log', 4, 0, 3],
  ])(
    '%s is read without options, every line accounted for, and gives the recording back',
    async (name, index, asides, silences) => {
      const table = await read(name);
      const report = table.files[0] as FrameTable['files'][number];
      const recording = demo.drives[index]?.recording as Recording;
      expect(report).toMatchObject({ rejected: 0, accepted: recording.count, passedOver: asides, outOfOrder: 0 });
      expect(report.clockEvents.filter(({ words }) => !words.includes('the bus was silent'))).toEqual([]);
      expect(report.clockEvents.length).toBe(silences);
      expect(checkTable(table)).toEqual([]);
      const direct = tableOf(recording);
      expect(table.origin).toEqual(direct.origin);
      expect(
        table.streams.map(({ bus, id, extended, direction, count }) => [bus, id, extended, direction, count]),
      ).toEqual(direct.streams.map(({ bus, id, extended, direction, count }) => [bus, id, extended, direction, count]));
      for (const [place, stream] of table.streams.entries()) {
        expect(Buffer.from(stream.payload).equals(direct.streams[place]?.payload as Uint8Array)).toBe(true);
        const worst = stream.timeUs.reduce(
          (most, timeUs, row) => Math.max(most, Math.abs(timeUs - (direct.streams[place]?.timeUs[row] as number))),
          0,
        );
        expect(worst).toBeLessThan(1.5);
      }
    },
  );

  it('hold a true map that the schema accepts, with the digest of the main capture', () => {
    const map = signalMapSchema.parse(JSON.parse(textOf('true-map.json')));
    expect(map.captures[0]?.files[0]).toMatchObject({
      name: 'drive-1.log',
      sha256: digestOf(fileNamed('drive-1.log').bytes),
    });
    const speed = map.frames
      .find(({ name }) => name === 'inverter_status')
      ?.signals.find(({ name }) => name === 'motor_speed');
    expect(speed?.observed?.max).toBeGreaterThan(500);
    expect(map.frames.filter(({ rest }) => rest !== null).length).toBeGreaterThan(25);
  });

  it('open as a dossier with marks, references and bit rates', () => {
    const dossier = dossierSchema.parse(demoDossier(demo, files));
    expect(dossier.captures.map(({ role }) => role)).toEqual([
      'main',
      'second drive',
      'inverter unplugged',
      'key on',
      'bench',
    ]);
    expect(dossier.rates['can0']?.bitrate).toBe(500_000);
    expect(dossier.captures[0]?.marks.length).toBe(demo.marks[0]?.length);
    expect(dossier.captures[0]?.references.map(({ unit }) => unit)).toEqual(['km/h', 'V', 'A']);
  });
});

describe('the marks of the operator', () => {
  it('are late by 150 to 450 ms on a phone that is ahead, one missed, one extra', () => {
    const { script, logger } = demo.outings[0] as Demo['outings'][number];
    const shiftS = logger.startEpochS + PHONE_AHEAD_S[0];
    const rows = rowsOf('marks-1.csv');
    expect(rows.length).toBe(script.actions.length);
    const late = rows.flatMap(([start, , action]) => {
      const near = script.actions
        .filter((each) => each.action === action)
        .map(({ startS }) => Number(start) - shiftS - startS);
      return near.filter((delay) => delay >= 0.149 && delay <= 0.451).slice(0, 1);
    });
    expect(late.length).toBeGreaterThanOrEqual(rows.length - 2);
    expect(Number(rows[0]?.[0])).toBeGreaterThan(1e8);
  });
});

describe('the reference readings', () => {
  const { truth } = demo.drives[0] as Demo['drives'][number];
  const startS = (demo.outings[0] as Demo['outings'][number]).logger.startEpochS;
  const columnAt = (name: 'vehicle_speed' | 'pack_voltage' | 'pack_current', timeS: number): number =>
    truth.columns[name][Math.round(timeS / truth.stepS)] as number;

  it('follow the speed late, by the tyre factor, with little noise and a hole', () => {
    const speeds = rowsOf('reference-1.csv').filter((row) => row[1] !== '');
    const residuals = speeds.map(
      (row) => Number(row[1]) - TYRE_FACTOR * columnAt('vehicle_speed', Number(row[0]) - startS - SATELLITE_DELAY_S),
    );
    expect(Math.sqrt(residuals.reduce((sum, each) => sum + each * each, 0) / residuals.length)).toBeLessThan(0.3);
    const steps = speeds.slice(1).map((row, index) => Number(row[0]) - Number(speeds[index]?.[0]));
    expect(Math.max(...steps)).toBeGreaterThan(6);
  });

  it('hold meter readings within the meter of the truth', () => {
    const meters = rowsOf('reference-1.csv').filter((row) => row[2] !== '');
    expect(meters.length).toBeGreaterThanOrEqual(5);
    for (const row of meters) {
      const timeS = Number(row[0]) - startS;
      expect(Math.abs(Number(row[2]) - columnAt('pack_voltage', timeS))).toBeLessThan(1);
      expect(Math.abs(Number(row[3]) - columnAt('pack_current', timeS))).toBeLessThan(1.6);
    }
  });
});

describe('the recording with the inverter unplugged', () => {
  it('lacks all of the inverter, shows "no data" in copies, and a frame that comes four times as rarely', async () => {
    const whole = await read('drive-1.log');
    const without = await read('inverter-unplugged.csv');
    const inverter = demo.vehicle.modules.findIndex(({ role }) => role === 'inverter');
    const mine = demo.vehicle.frames.filter(
      ({ module, copyOf }) => (copyOf === null ? module : demo.vehicle.frames[copyOf]?.module) === inverter,
    );
    expect(mine.length).toBeGreaterThan(6);
    for (const { map, id } of mine)
      expect(
        without.streams.some((stream) => stream.bus === map.bus && stream.id === id),
        map.name,
      ).toBe(false);
    const request = demo.vehicle.frames.find(({ map }) => map.name === 'drive_request');
    const median = (table: FrameTable): number => {
      const { timeUs } = table.streams.find(({ id }) => id === request?.id) as FrameTable['streams'][number];
      const intervals = Array.from(timeUs.subarray(1), (each, row) => each - (timeUs[row] as number)).sort(
        (a, b) => a - b,
      );
      return intervals[intervals.length >> 1] as number;
    };
    expect(median(whole) / 1000).toBeCloseTo(10, 1);
    expect(median(without) / 1000).toBeCloseTo(40, 1);
  });

  it('never becomes ready', () => {
    const { truth } = demo.drives[2] as Demo['drives'][number];
    expect(Math.max(...truth.columns.drive_allowed)).toBe(0);
    expect(Math.max(...truth.columns.drive_fault)).toBe(1);
    expect(Math.max(...(demo.drives[0] as Demo['drives'][number]).truth.columns.drive_allowed)).toBe(1);
  });
});

describe('the recordings of donors that cannot drive', () => {
  it('have contactors that stay open and a fault that is told, and nothing turns', () => {
    const { columns } = (demo.drives[3] as Demo['drives'][number]).truth;
    expect(Math.max(...columns.contactor_positive)).toBe(0);
    expect(Math.max(...columns.motor_speed)).toBeLessThan(5);
    expect(Math.min(...columns.pack_fault)).toBe(1);
    expect(demo.marks[3]?.length).toBe(demo.outings[3]?.script.actions.length);
  });

  it('hear nobody but the inverter on the bench', async () => {
    const inverter = demo.vehicle.modules.findIndex(({ role }) => role === 'inverter');
    const own = demo.vehicle.frames.filter(({ module }) => module === inverter).map(({ id }) => id);
    const table = await read('bench.log');
    expect(table.streams.length).toBeGreaterThan(3);
    expect(table.streams.filter(({ id }) => !own.includes(id))).toEqual([]);
  });
});
