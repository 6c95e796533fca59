import { describe, expect, it } from 'vitest';
import { quantityOf } from '../../src/demo/quantities.ts';
import { frameAt, payloadAt } from '../../src/demo/recording/logger.ts';
import type { TrueField, TrueFrame, VehicleModule } from '../../src/demo/true-frame.ts';
import type { MapSignal } from '../../src/map/schema.ts';
import { slowBits, slowPhysical } from '../support/slow-codec.ts';
import { PROFILE_NAMES, postVanSample, profileSample, type Sample } from './drives.ts';

/** Longest time from sampling a value to the end of its frame: a task, a full queue, a gateway. */
const ON_THE_WAY_S = 0.035;
/** Columns are 32-bit floats. */
const FLOAT_SLACK = 2e-6;

const rawOf = (signal: Parameters<typeof slowBits>[0], payload: Uint8Array): number =>
  Number(BigInt('0b' + slowBits(signal, payload)));

/** Signals of the page that is on. */
function present(frame: TrueFrame, payload: Uint8Array): MapSignal[] {
  const page = frame.map.selectors[0] ? rawOf(frame.map.selectors[0], payload) : null;
  return frame.map.signals.filter(({ when }) => when === null || when['page']?.includes(page ?? -1));
}

interface Tally {
  compared: number;
  noData: number;
  readonly wrong: string[];
}

function rangeOf(column: Float32Array, stepS: number, fromS: number, toS: number): [number, number] {
  let [least, most] = [Infinity, -Infinity];
  const last = Math.min(column.length - 1, Math.ceil(toS / stepS));
  for (let step = Math.max(0, Math.floor(fromS / stepS)); step <= last; step++) {
    const value = column[step] as number;
    least = Math.min(least, value);
    most = Math.max(most, value);
  }
  return [least, most];
}

function clampTo(signal: MapSignal, value: number): number {
  const { allowed } = signal;
  return allowed ? Math.min(allowed.max, Math.max(allowed.min, value)) : value;
}

/** Whether a decoded value is what the physics had somewhere in the time between sampling and stamp. */
function agrees(sample: Sample, field: TrueField, signal: MapSignal, value: number, timeS: number): boolean {
  const { source } = field;
  if (source.from !== 'physics') return true;
  const { truth } = sample.drive;
  const toS = timeS - field.delayMs / 1000;
  const fromS = toS - ON_THE_WAY_S - field.refreshMs / 1000;
  const [least, most] = rangeOf(truth.columns[source.quantity], truth.stepS, fromS, toS);
  const half = signal.coding === 'float' ? 0 : signal.scale / 2;
  const slack = half * 1.0001 + FLOAT_SLACK * (1 + Math.abs(value));
  return value >= clampTo(signal, least + source.bias) - slack && value <= clampTo(signal, most + source.bias) + slack;
}

function initialised(sample: Sample, frame: TrueFrame, timeS: number): boolean {
  const { truth } = sample.drive;
  const module = sample.vehicle.modules[
    (frame.copyOf === null ? frame : (sample.vehicle.frames[frame.copyOf] as TrueFrame)).module
  ] as VehicleModule;
  const calls = module.wakesWith === 'powertrain' ? truth.powertrainAwake : truth.bodyAwake;
  const settleS = (module.habits.timing.bootMs * 1.06 + module.habits.timing.initialiseMs) / 1000 + 0.15;
  const step = Math.floor(timeS / truth.stepS);
  const since = Math.floor((timeS - settleS) / truth.stepS);
  return since >= 0 && calls.subarray(since, step).every((awake) => awake === 1);
}

/** Every `every`-th frame, decoded by the slow second codec, held against the physics. */
function compare(sample: Sample, every: number, shiftS = 0): Tally {
  const tally: Tally = { compared: 0, noData: 0, wrong: [] };
  const { recording } = sample.drive;
  for (let row = 0; row < recording.count; row += every) {
    const frame = frameAt(recording, row);
    const timeS = (recording.timeUs[row] as number) / 1e6;
    if (frame.diagnostic !== null || !initialised(sample, frame, timeS)) continue;
    const payload = payloadAt(recording, row);
    for (const signal of present(frame, payload)) {
      if (signal.kind === 'text') continue;
      const field = frame.fields.find(({ name }) => name === signal.name) as TrueField;
      const raw = rawOf(signal, payload);
      if (raw === field.noData) {
        tally.noData++;
        continue;
      }
      const value = signal.kind === 'number' ? slowPhysical(signal, payload) : field.codes.indexOf(raw);
      tally.compared++;
      if (!agrees(sample, field, signal, value, timeS + shiftS))
        tally.wrong.push(`${frame.map.name}.${signal.name} at ${timeS.toFixed(3)} s: ${value}`);
    }
  }
  return tally;
}

describe('recorded frames decoded with the true map, by the second codec', () => {
  it('give the physics back within half a step: post van', () => {
    const tally = compare(postVanSample(), 3);
    expect(tally.wrong).toEqual([]);
    expect(tally.compared).toBeGreaterThan(80_000);
    expect(tally.noData).toBe(0);
  });

  it.each(PROFILE_NAMES)('give the physics back within half a step: profile %s, seed 1', (profile) => {
    const tally = compare(profileSample(profile, 1), 7);
    expect(tally.wrong).toEqual([]);
    expect(tally.compared).toBeGreaterThan(5_000);
  });

  it('would not, were they held against the physics of a quarter second later', () => {
    const tally = compare(postVanSample(), 41, 0.25);
    expect(tally.wrong.length / tally.compared).toBeGreaterThan(0.05);
  });

  it('say "no data" before a module has initialised', () => {
    const { drive, vehicle } = postVanSample();
    const status = vehicle.frames.find(({ map }) => map.name === 'inverter_status') as TrueFrame;
    const row = drive.recording.frame.indexOf(vehicle.frames.indexOf(status));
    const field = status.fields.find(({ name }) => name === 'torque') as TrueField;
    const signal = status.map.signals.find(({ name }) => name === 'torque') as MapSignal;
    expect(rawOf(signal, payloadAt(drive.recording, row))).toBe(field.noData);
    expect(quantityOf('torque').source).toBe('inverter');
  });
});
