/**
 * A second simulator of CAN traffic, to judge the timing finders apart from the one that the demo comes from: modules, controllers,
 * wires and loggers run event by event, and what is heard causes what is sent. Straight into a frame table, or as log text.
 */
import { FrameBuilder } from '../../../src/frames/builder.ts';
import type { FrameTable } from '../../../src/frames/table.ts';
import { createRandom, type Random } from '../../../src/kit/random.ts';
import type { WireFrame } from './controller.ts';
import { drawVehicle } from './draw-vehicle.ts';
import { logFrames } from './logger.ts';
import { drawDay, steadyOn } from './modes.ts';
import { makeOscillator, type Oscillator } from './oscillator.ts';
import type { MessagePlan, ModeSpan, VehiclePlan } from './plan.ts';
import { runVehicle, type Happened } from './run-vehicle.ts';
import { tellTruth } from './tell-truth.ts';
import type { TrafficTruth } from './true-traffic.ts';
import { GOOD_LOGGER, type LoggerWish, type TrafficWish } from './wish.ts';

export type { TrafficWish } from './wish.ts';
export type * from './true-traffic.ts';

/** Epoch seconds of true time 0. */
const EPOCH_S = 1_774_000_000;

export interface Row {
  readonly frame: WireFrame;
  readonly stampUs: number;
}

export interface Traffic {
  readonly table: FrameTable;
  readonly truth: TrafficTruth;
  /** Behind the scenes, for checks of the simulator itself. */
  readonly plan: VehiclePlan;
  readonly happened: Happened;
  /** As a file of log lines: one for each logger. */
  readonly logText: () => readonly string[];
}

interface LoggerRun {
  readonly wish: LoggerWish;
  readonly clock: Oscillator;
  readonly rows: readonly Row[];
}

export function makeTraffic(wish: TrafficWish): Traffic {
  const plan = drawVehicle(wish);
  const random = createRandom(wish.seed).fork(`recording ${wish.take ?? 0}`);
  const modes = wish.modes ?? (wish.steady === false ? drawDay(random, wish.durationS) : steadyOn(wish.durationS));
  const resets = drawResets(wish, plan, modes, random);
  const happened = runVehicle(plan, {
    modes,
    take: wish.take ?? 0,
    absent: wish.unplugged ?? [],
    resets,
    errorShare: wish.errorShare ?? 0,
  });
  const loggers = runLoggers(wish, plan, happened, random);
  const truth = tellTruth({ wish, plan, modes, resets, happened, loggers });
  return {
    table: tableOf(plan, happened, loggers),
    truth,
    plan,
    happened,
    logText: () => loggers.map((l) => textOf(plan, l)),
  };
}

function drawResets(wish: TrafficWish, plan: VehiclePlan, modes: readonly ModeSpan[], random: Random) {
  const lively = modes.filter(({ mode }) => mode === 'on' || mode === 'driving');
  const own = random.fork('resets');
  return Array.from({ length: lively.length > 0 ? (wish.resets ?? 0) : 0 }, () => {
    const { fromUs, toUs } = own.pick(lively);
    const atUs = fromUs + own.between(0.3, 0.7) * (toUs - fromUs);
    return { module: own.below(plan.modules.length), atUs, forUs: own.between(80_000, 1_500_000) };
  });
}

/** One logger for all buses, or one for the first and one for the others. */
function runLoggers(wish: TrafficWish, plan: VehiclePlan, happened: Happened, random: Random): LoggerRun[] {
  const run = (
    given: Partial<LoggerWish> | undefined,
    place: number,
    aheadS: number,
    buses: (bus: number) => boolean,
  ) => {
    const own = { ...GOOD_LOGGER, ...given };
    const part = { ppm: own.skewPpm, wanderPpm: own.wanderPpm, coldPpm: 0, warmingS: 100 };
    const inner = makeOscillator(part, random.fork(`logger ${place}`));
    const clock: Oscillator = {
      ownUs: (us) => inner.ownUs(us) + aheadS * 1e6,
      trueUs: (us) => inner.trueUs(us - aheadS * 1e6),
    };
    const frames = happened.frames.filter(({ bus }) => buses(bus)).sort((a, b) => a.endUs - b.endUs);
    const { frame, stampUs } = logFrames(frames, clock, own, random.fork(`log ${place}`));
    const rows = Array.from(frame, (at, i): Row => ({ frame: frames[at] as WireFrame, stampUs: stampUs[i] as number }));
    return { wish: own, clock, rows };
  };
  const { secondLogger } = wish;
  if (!secondLogger || plan.buses.length < 2) return [run(wish.logger, 0, 0, () => true)];
  return [
    run(wish.logger, 0, 0, (bus) => bus === 0),
    run(secondLogger.logger, 1, secondLogger.aheadS, (bus) => bus > 0),
  ];
}

function tableOf(plan: VehiclePlan, happened: Happened, loggers: readonly LoggerRun[]): FrameTable {
  const builder = new FrameBuilder();
  const buses = plan.buses.map(({ name }) => builder.busIndex(name));
  const slots = plan.messages.map(() => null as ReturnType<FrameBuilder['slot']> | null);
  for (const { frame, stampUs } of inOrder(loggers)) {
    const { bus, id, extended } = plan.messages[frame.message] as MessagePlan;
    const slot = (slots[frame.message] ??= builder.slot(buses[bus] as number, id, extended, false));
    builder.add(slot, stampUs, frame.payload, 0, frame.payload.length, 0);
  }
  const clock = (loggers[0] as LoggerRun).clock;
  for (const { bus, atUs } of happened.errors) builder.addError(buses[bus] as number, Math.floor(clock.ownUs(atUs)));
  return builder.finish({ files: () => [], origin: (firstUs) => ({ kind: 'epoch', text: epochText(firstUs) }) });
}

function inOrder(loggers: readonly LoggerRun[]): readonly Row[] {
  if (loggers.length === 1) return (loggers[0] as LoggerRun).rows;
  return loggers.flatMap(({ rows }) => rows).sort((a, b) => a.stampUs - b.stampUs);
}

function epochText(us: number): string {
  const seconds = Math.floor(us / 1e6);
  return `${EPOCH_S + seconds}.${String(Math.floor(us - seconds * 1e6)).padStart(6, '0')}`;
}

function textOf(plan: VehiclePlan, { rows, wish }: LoggerRun): string {
  const hex = (value: number, digits: number): string => value.toString(16).toUpperCase().padStart(digits, '0');
  const relative = wish.restartsS.length > 0;
  const lines = rows.map(({ frame, stampUs }) => {
    const { bus, id, extended } = plan.messages[frame.message] as MessagePlan;
    const stamp = relative ? (stampUs / 1e6).toFixed(6) : epochText(stampUs);
    const data = Array.from(frame.payload, (byte) => hex(byte, 2)).join('');
    return `(${stamp}) ${plan.buses[bus]?.name} ${hex(id, extended ? 8 : 3)}#${data}\n`;
  });
  return lines.join('');
}
