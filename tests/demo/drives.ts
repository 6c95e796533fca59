/** Drives that several tests look at, each recorded once. */
import { makePostVan } from '../../src/demo/post-van.ts';
import { recordDrive, type Drive } from '../../src/demo/record.ts';
import { PROFILES, type ProfileName } from '../../src/demo/profiles.ts';
import { tableOf } from '../../src/demo/recording/to-table.ts';
import { writeScript, type ScriptShape } from '../../src/demo/script.ts';
import { vehicleFor } from '../../src/demo/vehicle.ts';
import type { Vehicle } from '../../src/demo/true-frame.ts';
import type { FrameTable } from '../../src/frames/table.ts';

export interface Sample {
  readonly vehicle: Vehicle;
  readonly drive: Drive;
  readonly table: FrameTable;
}

export function sampleOf(vehicle: Vehicle, seed: number, shape: ScriptShape, logger = {}): Sample {
  const drive = recordDrive(vehicle, writeScript(seed, shape), logger);
  return { vehicle, drive, table: tableOf(drive.recording) };
}

let postVan: Sample | null = null;
/** The post van over 110 s, nothing lost, an exact logger. */
export const postVanSample = (): Sample => (postVan ??= sampleOf(makePostVan(), 11, { durationS: 110 }));

export const PROFILE_NAMES = Object.keys(PROFILES) as ProfileName[];

const samples = new Map<string, Sample>();
/** A vehicle of a profile over 60 s. */
export function profileSample(profile: ProfileName, seed: number): Sample {
  const name = `${profile} ${seed}`;
  const known = samples.get(name);
  if (known) return known;
  const made = sampleOf(vehicleFor(profile, seed), seed, { durationS: 60 });
  samples.set(name, made);
  return made;
}
