/** A simulated vehicle's drive as streams with the true frame of each, without going through files. */
import { recordDrive } from '../../../src/demo/record.ts';
import type { Recording } from '../../../src/demo/recording/logger.ts';
import { PROFILES, type ProfileName } from '../../../src/demo/profiles.ts';
import { writeScript } from '../../../src/demo/script.ts';
import type { TrueFrame } from '../../../src/demo/true-frame.ts';
import { vehicleFor } from '../../../src/demo/vehicle.ts';
import type { Stream } from '../../../src/frames/table.ts';
import { seedOf } from '../../../src/kit/random.ts';
import { makeStream } from './streams.ts';

export interface TrueStream {
  readonly truth: TrueFrame;
  readonly stream: Stream;
}

export interface TrueDrive {
  readonly name: string;
  readonly streams: readonly TrueStream[];
  /** The same vehicle on another drive. */
  readonly again: () => readonly TrueStream[];
}

function streamsOf(recording: Recording): TrueStream[] {
  const rows: number[][] = recording.vehicle.frames.map(() => []);
  for (let row = 0; row < recording.count; row++) (rows[recording.frame[row] as number] as number[]).push(row);
  return recording.vehicle.frames.flatMap((truth, index) => {
    const own = rows[index] as number[];
    if (own.length === 0) return [];
    const { length } = truth.map;
    const payload = new Uint8Array(own.length * length);
    own.forEach((row, to) => {
      const at = recording.at[row] as number;
      payload.set(recording.payload.subarray(at, at + length), to * length);
    });
    const timeUs = Float64Array.from(own, (row) => recording.timeUs[row] as number);
    const bus = recording.vehicle.buses[truth.bus]?.name ?? 'can0';
    return [
      { truth, stream: { ...makeStream(payload, length, truth.id), timeUs, bus, extended: truth.extended, index } },
    ];
  });
}

/** Seed as text, so that it can come from a commit. */
export function driveOf(
  profile: ProfileName,
  seed: string,
  durationS: number = PROFILES[profile].durationS,
): TrueDrive {
  const number = seedOf(`${profile} ${seed}`);
  const vehicle = vehicleFor(profile, number);
  const record = (drive: number): TrueStream[] =>
    streamsOf(
      recordDrive(vehicle, writeScript(number + drive, { durationS }), { lossBursts: 6, lossMost: 20, seed: number })
        .recording,
    );
  return { name: `${profile} ${seed}`, streams: record(1), again: () => record(2) };
}
