/** Simulated vehicles for scorecards: recorded once, with the operator's marks and reference readings in the finders' own shapes. */
import { observeMarks, type OperatorOptions } from '../../../src/demo/marks.ts';
import { PROFILES, type ProfileName } from '../../../src/demo/profiles.ts';
import { recordDrive, type Drive } from '../../../src/demo/record.ts';
import type { LoggerOptions } from '../../../src/demo/recording/logger.ts';
import { tableOf } from '../../../src/demo/recording/to-table.ts';
import { takeReferences } from '../../../src/demo/reference-readings.ts';
import { writeScript, type ScriptShape } from '../../../src/demo/script.ts';
import type { Vehicle } from '../../../src/demo/true-frame.ts';
import { vehicleFor } from '../../../src/demo/vehicle.ts';
import type { Mark, MarkFile } from '../../../src/actions/types.ts';
import type { FrameTable } from '../../../src/frames/table.ts';
import { createRandom, seedOf } from '../../../src/kit/random.ts';
import type { ReferenceFile, ReferenceSeries } from '../../../src/reference/types.ts';

export interface Sample {
  readonly profile: ProfileName;
  readonly seed: number;
  readonly vehicle: Vehicle;
  readonly drive: Drive;
  readonly table: FrameTable;
}

export interface SampleOptions {
  readonly shape?: Partial<ScriptShape>;
  readonly logger?: Partial<LoggerOptions>;
  /** Another drive of the same vehicle: to hold against what was found on the first. */
  readonly drive?: number;
}

/** A short capture begins and ends with the vehicle ready; the others from asleep to asleep. */
export function makeSample(profile: ProfileName, seed: number, options: SampleOptions = {}): Sample {
  const vehicle = vehicleFor(profile, seed);
  const { durationS } = PROFILES[profile];
  const short = durationS < 60;
  const usual: ScriptShape = { durationS, ...(short ? { begins: 'ready', ends: 'ready' } : {}) };
  const script = writeScript(seed + 7919 * (options.drive ?? 0), { ...usual, ...options.shape });
  const drive = recordDrive(vehicle, script, { seed, skewPpm: 8, ...options.logger });
  return { profile, seed, vehicle, drive, table: tableOf(drive.recording) };
}

/** The vehicles of `npm test`: always the same, so that a test goes red only when the code has changed. */
const STEADY_BASE = 'steady';

/**
 * Seeds from LOOMSCRIBE_SEED, which `npm run scorecard` sets from the current commit unless it is given, so that it meets vehicles that
 * nobody tuned to; else from a steady base. The base is part of the answer so that a report can print it.
 */
export function seedsFor(label: string, count: number): { readonly base: string; readonly seeds: readonly number[] } {
  const base = process.env['LOOMSCRIBE_SEED'] ?? STEADY_BASE;
  const random = createRandom(seedOf(`${base} ${label}`));
  return { base, seeds: Array.from({ length: count }, () => random.below(2 ** 30)) };
}

/** Seconds from the capture's origin (its first frame) of a moment of the script. */
export function captureTimeOf({ drive }: Sample, scriptS: number): number {
  return scriptS - (drive.recording.timeUs[0] ?? 0) / 1e6;
}

/** What was done, exactly when, on the capture's own clock. */
export function exactMarks(sample: Sample): MarkFile {
  const marks = sample.drive.script.actions.map(({ action, startS, endS, value }): Mark => ({
    action,
    startS: captureTimeOf(sample, startS),
    endS: endS === null ? null : captureTimeOf(sample, endS),
    ...(value === undefined ? {} : { value }),
  }));
  return { marks, timeBase: 'capture' };
}

/** What an operator wrote down: late, on another clock, with misses and extras. */
export function operatorMarks(sample: Sample, options: Partial<OperatorOptions> = {}): MarkFile {
  const { startEpochS } = sample.drive.recording;
  const seen = observeMarks(sample.drive.script, {
    startEpochS,
    aheadS: 0,
    missed: 1,
    extra: 1,
    seed: sample.seed,
    ...options,
  });
  const marks = seen.map(({ action, startS, endS, value }): Mark => ({
    action,
    startS,
    endS,
    ...(value ? { value } : {}),
  }));
  return { marks, timeBase: 'epoch' };
}

/** Marks at times at which nothing was done on purpose: what answers them is a false claim. */
export function idleMarks(sample: Sample, count: number, seed: number): MarkFile {
  const random = createRandom(seed).fork('idle marks');
  const lengthS = sample.table.endUs / 1e6;
  const marks = Array.from({ length: count }, (): Mark => {
    const startS = random.between(0.05, 0.9) * lengthS;
    return { action: 'nothing', startS, endS: startS + random.between(0.5, 3) };
  });
  return { marks: marks.sort((a, b) => a.startS - b.startS), timeBase: 'capture' };
}

export function referenceOf(sample: Sample, readings = 9): ReferenceFile {
  const { truth, recording } = sample.drive;
  const rows = takeReferences(truth, { startEpochS: recording.startEpochS, seed: sample.seed, readings });
  const series = (
    name: string,
    unit: string,
    pick: 'satelliteSpeed' | 'packVoltage' | 'packCurrent',
  ): ReferenceSeries => {
    const own = rows.filter((row) => row[pick] !== null);
    return {
      name,
      unit,
      timeS: Float64Array.from(own, (row) => row.timeS),
      value: Float64Array.from(own, (row) => row[pick] as number),
    };
  };
  return {
    timeBase: 'epoch',
    series: [
      series('satellite_speed', 'km/h', 'satelliteSpeed'),
      series('pack_voltage', 'V', 'packVoltage'),
      series('pack_current', 'A', 'packCurrent'),
    ],
  };
}
