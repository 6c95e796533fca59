/**
 * Two buses, a gateway between them, and a logger on each with a clock of its own: what the alignment of loggers is tried on. Independent of
 * the simulated vehicle; seconds in, a `FrameTable` out as if both files had been read.
 */
import { FrameBuilder } from '../../src/frames/builder.ts';
import type { FileReport, FrameTable } from '../../src/frames/table.ts';
import { createRandom, type Random } from '../../src/kit/random.ts';

export interface LoggerHabit {
  /** Own time at true time 0, and how much faster it runs. */
  readonly offsetS: number;
  readonly driftPpm: number;
  readonly stepS: number;
  /** True times at which it is set by so much. */
  readonly sets?: readonly (readonly [atS: number, byS: number])[];
  /** Share of frames it loses. */
  readonly loss?: number;
  readonly fromS?: number;
  readonly toS?: number;
}

export interface Scene {
  readonly durationS: number;
  /** Identifiers copied from the first bus to the second, and the other way. */
  readonly forth: number;
  readonly back: number;
  /** `at-once`: each frame after a fixed time. `polled`: at the gateway's own ticks of so many ms. `thinned`: only each third. */
  readonly gateway: 'at-once' | 'polled' | 'thinned' | 'renamed';
  readonly delayS: number;
  readonly second: LoggerHabit;
  readonly first?: Partial<LoggerHabit>;
  /** Little changes in the payloads: a counter, now and then a new state. */
  readonly poor?: boolean;
}

interface Frame {
  readonly bus: number;
  readonly id: number;
  readonly timeS: number;
  readonly payload: Uint8Array;
}

const PERIODS = [0.01, 0.02, 0.02, 0.05, 0.1, 0.1, 0.2, 0.5, 1];

function payloadOf(random: Random, state: number[], tick: number, poor: boolean): Uint8Array {
  if (random.next() < (poor ? 0.02 : 0.3)) state[random.below(state.length)] = random.below(poor ? 4 : 256);
  return Uint8Array.from([...state, tick & 15, 0]);
}

/** One identifier's frames on its own bus. */
function sends(random: Random, bus: number, id: number, scene: Scene): Frame[] {
  const period = random.pick(PERIODS) * (1 + random.normal() * 2e-5);
  const phase = random.next() * period;
  const state = Array.from({ length: 6 }, () => random.below(scene.poor ? 4 : 256));
  const frames: Frame[] = [];
  for (let tick = 0; phase + tick * period < scene.durationS; tick++) {
    const timeS = phase + tick * period + random.normal() * 2e-5 - Math.log(1 - random.next()) * 1e-4;
    frames.push({ bus, id, timeS, payload: payloadOf(random, state, tick, scene.poor ?? false) });
  }
  return frames;
}

function copied(random: Random, frames: readonly Frame[], scene: Scene): Frame[] {
  const { gateway, delayS } = scene;
  const kept = gateway === 'thinned' ? frames.filter((_, i) => i % 3 === 0) : frames;
  return kept.map((frame) => {
    const handled = frame.timeS + delayS;
    const sentS = gateway === 'polled' ? Math.ceil(handled / 0.005) * 0.005 : handled;
    const timeS = sentS + 2.5e-4 - Math.log(1 - random.next()) * 1e-4;
    return { ...frame, bus: 1 - frame.bus, id: gateway === 'renamed' ? frame.id + 0x100 : frame.id, timeS };
  });
}

function stamped(random: Random, timeS: number, habit: LoggerHabit): number | null {
  const { fromS = -Infinity, toS = Infinity, loss = 0, sets = [] } = habit;
  if (timeS < fromS || timeS > toS || random.next() < loss) return null;
  const set = sets.reduce((sum, [atS, byS]) => sum + (timeS >= atS ? byS : 0), 0);
  const own = habit.offsetS + timeS * (1 + habit.driftPpm * 1e-6) + set;
  return Math.round(own / habit.stepS) * habit.stepS;
}

const REPORT = { bytes: 0, sha256: '0'.repeat(64), reader: 'log-lines', why: '', rejected: 0, passedOver: 0 };

function reportOf(name: string, bus: string, lines: number): FileReport {
  return {
    ...REPORT,
    name,
    buses: [bus],
    lines,
    accepted: lines,
    rejects: [],
    rejectReasons: [],
    outOfOrder: 0,
    clockEvents: [],
    columns: null,
    warnings: [],
  };
}

/** A table of one file a bus, in the order of the files. */
export function tableOfFrames(
  buses: readonly { name: string; rows: readonly { id: number; timeUs: number; payload: Uint8Array }[] }[],
): FrameTable {
  const builder = new FrameBuilder();
  for (const { name, rows } of buses) {
    const bus = builder.busIndex(name);
    for (const { id, timeUs, payload } of rows) {
      builder.add(builder.slot(bus, id, false, false), timeUs, payload, 0, payload.length, 0);
    }
  }
  return builder.finish({
    files: () => buses.map(({ name, rows }) => reportOf(`${name}.log`, name, rows.length)),
    origin: (firstUs) => ({ kind: 'epoch', text: (1_700_000_000 + firstUs / 1e6).toFixed(6) }),
  });
}

/** Both recordings as one capture. Each bus has six identifiers of its own besides the copied ones. */
export function record(seed: string, scene: Scene): FrameTable {
  const random = createRandom(seed);
  const own = (bus: number, from: number, count: number): Frame[][] =>
    Array.from({ length: count }, (_, i) => sends(random.fork(`${from}/${i}`), bus, from + i * 8, scene));
  const forth = own(0, 0x100, scene.forth);
  const back = own(1, 0x400, scene.back);
  const alone = [...own(0, 0x600, 6), ...own(1, 0x700, 6)];
  const copies = [...forth, ...back].map((frames) => copied(random, frames, scene));
  const all = [...forth, ...back, ...alone, ...copies].flat();
  const habits: LoggerHabit[] = [{ offsetS: 0, driftPpm: 0, stepS: 1e-6, ...scene.first }, scene.second];
  return tableOfFrames(
    habits.map((habit, bus) => ({
      name: `can${bus}`,
      rows: all
        .filter((frame) => frame.bus === bus)
        .sort((a, b) => a.timeS - b.timeS)
        .flatMap(({ id, timeS, payload }) => {
          const own = stamped(random, timeS, habit);
          return own === null ? [] : [{ id, timeUs: Math.round(own * 1e6), payload }];
        }),
    })),
  );
}
