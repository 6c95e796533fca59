/** The recordings that timing is scored on: conditions of loggers, clocks and lengths, each over vehicles of both simulators. */
import { PROFILES, type ProfileName } from '../../src/demo/profiles.ts';
import { recordDrive } from '../../src/demo/record.ts';
import { PLAIN_LOGGER, type LoggerOptions } from '../../src/demo/recording/logger.ts';
import { tableOf } from '../../src/demo/recording/to-table.ts';
import { writeScript } from '../../src/demo/script.ts';
import { makeVehicle } from '../../src/demo/vehicle.ts';
import { memorySource } from '../../src/frames/source.ts';
import type { FrameTable } from '../../src/frames/table.ts';
import { readFrames } from '../../src/jobs/read-frames.ts';
import { makeTraffic, type Traffic, type TrafficWish } from './otherwise/make-traffic.ts';
import { truthOfDrive, truthOfTraffic, type TimingTruth } from './timing-scorecard-truth.ts';

export interface Condition {
  readonly name: string;
  readonly durationS: number;
  /** So many vehicles of the second simulator, and what is asked of them. */
  readonly others: number;
  readonly wish?: Omit<TrafficWish, 'seed' | 'durationS'>;
  /** Profiles of the demo's simulator. */
  readonly profiles: readonly ProfileName[];
  readonly logger?: Partial<LoggerOptions>;
  /** The demo's drive from asleep to asleep; else ready all the while. */
  readonly whole?: boolean;
}

const CLOSE_PPM = [-11, -8, -2, 3, 8, 16, 19, 26];

export const CONDITIONS: readonly Condition[] = [
  { name: '1 us, 120 s', durationS: 120, others: 2, profiles: ['plain'] },
  { name: '1 us, 40 s', durationS: 40, others: 1, profiles: ['guarded'] },
  { name: '1 us, 600 s', durationS: 600, others: 1, wish: { load: 0.12 }, profiles: [] },
  {
    name: '100 us, 120 s',
    durationS: 120,
    others: 1,
    wish: { load: 0.4, logger: { resolutionUs: 100, latencyUs: [5, 30, 5000] } },
    profiles: ['plain'],
    logger: { resolutionUs: 100 },
  },
  {
    name: '1 ms, 60 s',
    durationS: 60,
    others: 1,
    wish: { logger: { resolutionUs: 1000, latencyUs: [5, 60, 5000] } },
    profiles: ['guarded'],
    logger: { resolutionUs: 1000 },
  },
  {
    name: 'polled at 10 ms, 120 s',
    durationS: 120,
    others: 1,
    wish: { logger: { pollMs: 10 } },
    profiles: ['plain'],
    logger: { batchMs: 10 },
  },
  {
    name: 'transfers of 32, 120 s',
    durationS: 120,
    others: 1,
    wish: { logger: { transfer: { frames: 32, withinMs: 4, apartUs: 25 } } },
    profiles: [],
  },
  { name: '3 to 8 ppm apart, 300 s', durationS: 300, others: 1, wish: { skewsPpm: CLOSE_PPM }, profiles: [] },
  { name: 'two buses, 120 s', durationS: 120, others: 1, wish: { buses: 2 }, profiles: ['dense'] },
  {
    name: 'two loggers, 120 s',
    durationS: 120,
    others: 1,
    wish: { buses: 2, secondLogger: { aheadS: 2.3, logger: { skewPpm: -25, latencyUs: [2, 10, 0] } } },
    profiles: [],
  },
  { name: 'sleep to sleep, 150 s', durationS: 150, others: 2, wish: { steady: false, resets: 1 }, profiles: [] },
  {
    name: 'clock set forward, 120 s',
    durationS: 120,
    others: 1,
    wish: { logger: { jumps: [{ atS: 60, byS: 0.35 }] } },
    profiles: [],
  },
  {
    name: 'clock set back, 120 s',
    durationS: 120,
    others: 1,
    wish: { logger: { jumps: [{ atS: 60, byS: -0.8 }] } },
    profiles: [],
  },
  { name: 'clock starts anew, 120 s', durationS: 120, others: 1, wish: { logger: { restartsS: [70] } }, profiles: [] },
  { name: 'a whole drive, 150 s', durationS: 150, others: 0, profiles: ['plain'], whole: true },
  {
    name: 'frames lost, 120 s',
    durationS: 120,
    others: 1,
    wish: { logger: { lossBursts: 25, lossMost: 40, holes: [{ atS: 60, forS: 1.3 }], lossUnderLoad: 0.1 } },
    profiles: ['plain'],
    logger: { lossBursts: 25, lossMost: 40, holeS: 1.3 },
  },
];

export interface Recorded {
  readonly name: string;
  readonly table: FrameTable;
  readonly truth: TimingTruth;
}

/** A wire of 500 kbit/s under a sixth of its load, so that a scorecard over many vehicles stays quick. */
const QUICK = { bitrates: [500_000, 250_000], load: 0.15 };

/** Clocks that go back are for the readers to mend, two loggers to be held against each other: such recordings go through log lines. */
async function readBack(traffic: Traffic): Promise<FrameTable> {
  const inputs = traffic.logText().map((text, place) => ({
    source: memorySource(`log-${place}.log`, new TextEncoder().encode(text)),
  }));
  const read = await readFrames(inputs, {}, {});
  if (!read.ok) throw new Error('the log lines were not read');
  return read.value;
}

export async function recordOther(condition: Condition, seed: number): Promise<Recorded> {
  const { durationS, wish } = condition;
  const traffic = makeTraffic({ ...QUICK, ...wish, seed, durationS });
  const { jumps = [], restartsS = [] } = wish?.logger ?? {};
  const byFile = jumps.length + restartsS.length > 0 || wish?.secondLogger !== undefined;
  const table = byFile ? await readBack(traffic) : traffic.table;
  return { name: `${condition.name}, second ${seed}`, table, truth: truthOfTraffic(traffic, wish?.logger) };
}

const LOGGER_PPM = 8;

export function recordDemo(condition: Condition, profile: ProfileName, seed: number): Recorded {
  const vehicle = makeVehicle(seed, PROFILES[profile]);
  const script = writeScript(seed, {
    durationS: condition.durationS,
    ...(condition.whole ? {} : ({ begins: 'ready', ends: 'ready' } as const)),
  });
  const logger = { ...PLAIN_LOGGER, seed, skewPpm: LOGGER_PPM, ...condition.logger };
  const drive = recordDrive(vehicle, script, logger);
  return {
    name: `${condition.name}, ${profile} ${seed}`,
    table: tableOf(drive.recording),
    truth: truthOfDrive(vehicle, drive, logger),
  };
}
