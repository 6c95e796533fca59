/**
 * When a module hands its frames to the bus: its own clock with skew and drift, a task tick, frames of one tick in
 * fixed order, scatter of the task, on-change frames between the periodic ones. Nothing here knows of the other modules.
 */
import { createRandom, type Random } from '../../kit/random.ts';
import { HASTE_MS } from '../making/network-frames.ts';
import type { Truth } from '../physics/simulate.ts';
import type { ModuleRole } from '../quantities.ts';
import type { DriverScript } from '../script.ts';
import type { TrueFrame, Vehicle, VehicleModule } from '../true-frame.ts';
import { FrameWriter, type Moment } from './frame-writer.ts';
import { Requests } from './requests.ts';

interface Span {
  readonly fromS: number;
  readonly toS: number;
}

/** Stretches in which a module's wake line is on. Infinite at the edges where it was on before or stays on. */
function callSpans(calls: Uint8Array, stepS: number): Span[] {
  const spans: Span[] = [];
  let from = calls[0] ? -Infinity : NaN;
  for (let step = 1; step <= calls.length; step++) {
    const on = step < calls.length && calls[step] === 1;
    if (on && Number.isNaN(from)) from = step * stepS;
    if (!on && !Number.isNaN(from)) {
      spans.push({ fromS: from, toS: step === calls.length ? Infinity : step * stepS });
      from = NaN;
    }
  }
  return spans;
}

const RUNNING_SINCE_S = -90;

interface Waking {
  /** True time of the module's first tick. */
  readonly startS: number;
  readonly endS: number;
  readonly running: boolean;
  /** Its network management falls silent before it does. */
  readonly networkEndS: number;
}

function wakings(module: VehicleModule, truth: Truth, random: Random): Waking[] {
  const { bootMs, lingerMs } = module.habits.timing;
  const calls = module.wakesWith === 'powertrain' ? truth.powertrainAwake : truth.bodyAwake;
  return callSpans(calls, truth.stepS).map(({ fromS, toS }) => {
    const running = fromS === -Infinity;
    const startS = running ? RUNNING_SINCE_S - random.next() : fromS + (bootMs * random.between(0.97, 1.05)) / 1000;
    return { startS, endS: toS + lingerMs / 1000, running, networkEndS: toS };
  });
}

interface Sender {
  readonly index: number;
  readonly writer: FrameWriter;
  readonly everyTicks: number;
  readonly softwareUs: number;
}

const HASTE_PERIOD_MS = 50;

function isDue(sender: Sender, tick: number, moment: Moment, tickMs: number, waking: Waking): boolean {
  const { frame } = sender.writer;
  if (frame.network) {
    if (moment.timeS >= waking.networkEndS) return false;
    const hasty = !waking.running && moment.awakeMs < HASTE_MS;
    return hasty ? tick % Math.max(1, Math.round(HASTE_PERIOD_MS / tickMs)) === 0 : tick % sender.everyTicks === 0;
  }
  const periodic = frame.kind !== 'on-change' && (tick + frame.phase) % sender.everyTicks === 0;
  return periodic || (frame.kind !== 'periodic' && sender.writer.differs(moment));
}

function makeSenders(vehicle: Vehicle, module: number, truth: Truth, script: DriverScript, random: Random): Sender[] {
  const { tickMs } = (vehicle.modules[module] as VehicleModule).habits.timing;
  const absent = new Set<ModuleRole>(script.unplugged);
  return vehicle.frames
    .map((frame, index) => ({ frame, index }))
    .filter(({ frame }) => frame.module === module && frame.copyOf === null && frame.diagnostic === null)
    .sort((a, b) => a.frame.order - b.frame.order)
    .map(({ frame, index }) => ({
      index,
      writer: new FrameWriter(frame, truth, absent, script.seed, script.begins === 'ready'),
      everyTicks: Math.max(1, Math.round(periodOf(frame, absent) / tickMs)),
      softwareUs: random.between(14, 70),
    }));
}

const periodOf = ({ periodMs, slowsWithout }: TrueFrame, absent: ReadonlySet<ModuleRole>): number =>
  slowsWithout && absent.has(slowsWithout.role) ? slowsWithout.periodMs : periodMs;

/** True seconds after waking at which a module's clock shows `ownS`: a fast clock gets there sooner. */
function trueElapsed(ownS: number, skewPpm: number, driftPpm: number): number {
  return ownS - (skewPpm * ownS + (driftPpm * ownS * ownS) / 200) * 1e-6;
}

export function scheduleModule(vehicle: Vehicle, moduleIndex: number, truth: Truth, script: DriverScript): Requests {
  const module = vehicle.modules[moduleIndex] as VehicleModule;
  const random = createRandom(script.seed).fork(`module ${module.role}`);
  const requests = new Requests();
  if (script.unplugged.includes(module.role)) return requests;
  const senders = makeSenders(vehicle, moduleIndex, truth, script, random);
  for (const waking of wakings(module, truth, random)) {
    if (!waking.running) for (const { writer } of senders) writer.restart();
    runWaking(module, senders, waking, truth.steps * truth.stepS, random, requests);
  }
  return requests;
}

function runWaking(
  module: VehicleModule,
  senders: readonly Sender[],
  waking: Waking,
  endS: number,
  random: Random,
  requests: Requests,
): void {
  const { tickMs, skewPpm, skewDriftPpm, jitterUs, initialiseMs } = module.habits.timing;
  const last = Math.min(waking.endS, endS);
  const firstTick = waking.running ? Math.floor((-waking.startS * 1000) / tickMs) - 1 : 0;
  for (let tick = firstTick; ; tick++) {
    const ownS = (tick * tickMs) / 1000;
    const timeS = waking.startS + trueElapsed(ownS, skewPpm, skewDriftPpm);
    if (timeS >= last) return;
    if (timeS < 0) continue;
    const awakeMs = ownS * 1000;
    const moment: Moment = { timeS, awakeMs, initialised: waking.running || awakeMs >= initialiseMs };
    let handOverUs = timeS * 1e6 + scatter(random, jitterUs);
    for (const sender of senders) {
      if (!isDue(sender, tick, moment, tickMs, waking)) continue;
      handOverUs += sender.softwareUs * (0.9 + 0.2 * random.next());
      requests.add(handOverUs, sender.index, sender.writer.next(moment));
    }
  }
}

/** A task starts late, never early: mostly by little, now and then by the length of an interrupt. */
function scatter(random: Random, jitterUs: number): number {
  const usual = Math.abs(jitterUs * 0.6 * random.normal());
  return random.next() < 0.02 ? usual + jitterUs * 4 * random.next() : usual;
}
