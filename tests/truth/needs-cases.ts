/**
 * Vehicles of two simulators, each woken and recorded several times, with what is true of their rhythm and of their start: for the scorecard of
 * the keep-alive plan. Senders are those that the survey finds, as in use; only which module is the part is told.
 */
import type { ProfileName } from '../../src/demo/profiles.ts';
import { recordDrive } from '../../src/demo/record.ts';
import type { LoggerOptions } from '../../src/demo/recording/logger.ts';
import { tableOf } from '../../src/demo/recording/to-table.ts';
import { writeScript } from '../../src/demo/script.ts';
import type { TrueFrame, Vehicle, VehicleModule } from '../../src/demo/true-frame.ts';
import { vehicleFor } from '../../src/demo/vehicle.ts';
import { runSteps } from '../../src/frames/pictures/steps.ts';
import type { FrameTable } from '../../src/frames/table.ts';
import { observeNeeds } from '../../src/handover/needs/observe/observe.ts';
import type { CaptureObservations, KnownSender } from '../../src/handover/needs/observe/types.ts';
import { sendersOf } from '../../src/handover/needs/senders.ts';
import { formatId } from '../../src/kit/units.ts';
import { frameKey } from '../../src/map/identifiers.ts';
import type { MapFrame, SignalMap } from '../../src/map/schema.ts';
import { surveyTable } from '../../src/timing/survey.ts';
import type { Survey } from '../../src/timing/types.ts';
import { aFrame, aMap } from '../support/map-parts.ts';
import { makeTraffic, type TrafficWish } from './otherwise/make-traffic.ts';
import type { MessagePlan, ModulePlan, TaskPlan } from './otherwise/plan.ts';

export interface TruePhase {
  readonly module: string;
  /** First due so long after its module's first tick; null where its phase walks. */
  readonly offsetMs: number | null;
  readonly periodMs: number;
  /** A phase this close is right: frames of one tick wait for each other and for the wire. */
  readonly slackMs: number;
}

export interface NeedsCase {
  readonly map: SignalMap;
  readonly observations: readonly CaptureObservations[];
  readonly phases: ReadonlyMap<string, TruePhase>;
  /** Earliest and latest first frame after the same call to wake; only of modules that wake by the powertrain's. */
  readonly starts: ReadonlyMap<string, readonly [number, number]>;
}

const DRIVES = 3;
/** The first tells the senders, which takes minutes; each tells its own waking. */
const driveS = (at: number): number => (at === 0 ? 180 : 60);

/** The map of a first draft: senders as the survey groups them, the part's frames marked. */
function draftOf(survey: Survey, ofPart: (key: string) => boolean): SignalMap {
  const frames = survey.frames
    .filter(({ direction, copyOf }) => direction === 'received' && !copyOf)
    .map(({ bus, id, extended, length, timing, group, groupConfidence }): MapFrame =>
      aFrame({
        bus,
        id,
        extended,
        length,
        timing,
        name: `frame_${bus}_${id}`,
        role: ofPart(frameKey({ bus, id, extended })) ? 'sent-by-part' : 'other',
        sender: group === null ? null : { group, name: '', confidence: groupConfidence ?? 0 },
      }),
    );
  return aMap(frames);
}

export function observe(table: FrameTable, capture: string, survey: Survey, senders: readonly KnownSender[]) {
  return runSteps(observeNeeds(table, { capture, survey, senders }));
}

interface Recorded {
  readonly map: SignalMap;
  readonly observations: readonly CaptureObservations[];
}

function observeAll(tables: readonly FrameTable[], ofPart: (key: string) => boolean): Recorded {
  const surveys = tables.map((table) => surveyTable(table, {}));
  const map = draftOf(surveys[0] as Survey, ofPart);
  const senders = sendersOf(map);
  return {
    map,
    observations: tables.map((table, at) => observe(table, `c${at + 1}`, surveys[at] as Survey, senders)),
  };
}

const keyOf = ({ map, id, extended }: TrueFrame): string => frameKey({ bus: map.bus, id: formatId(id), extended });
const moduleOf = (vehicle: Vehicle, { module }: TrueFrame): VehicleModule => vehicle.modules[module] as VehicleModule;
const isOrdinary = ({ copyOf, diagnostic }: TrueFrame): boolean => copyOf === null && diagnostic === null;

/** Ticks of its module from the first to the first at which it is due. */
function firstDue({ phase, periodMs, network }: TrueFrame, tickMs: number): number {
  const every = Math.max(1, Math.round(periodMs / tickMs));
  return network ? 0 : (every - (phase % every)) % every;
}

function demoPhases(vehicle: Vehicle): Map<string, TruePhase> {
  const rhythmic = vehicle.frames.filter((frame) => isOrdinary(frame) && frame.kind !== 'on-change');
  return new Map(
    rhythmic.map((frame) => {
      const { letter, habits } = moduleOf(vehicle, frame);
      const { tickMs } = habits.timing;
      const offsetMs = firstDue(frame, tickMs) * tickMs;
      return [keyOf(frame), { module: letter, offsetMs, periodMs: frame.periodMs, slackMs: tickMs / 2 }];
    }),
  );
}

/** A module boots within 0.97 to 1.05 of its usual time. */
function demoStarts(vehicle: Vehicle): Map<string, readonly [number, number]> {
  const told = vehicle.frames.filter(
    (frame) => isOrdinary(frame) && frame.kind === 'periodic' && moduleOf(vehicle, frame).wakesWith === 'powertrain',
  );
  return new Map(
    told.map((frame) => {
      const { bootMs, tickMs } = moduleOf(vehicle, frame).habits.timing;
      const dueMs = firstDue(frame, tickMs) * tickMs;
      return [keyOf(frame), [0.97 * bootMs + dueMs, 1.05 * bootMs + dueMs + 5]];
    }),
  );
}

export function recordDemo(profile: ProfileName, seed: number, logger: Partial<LoggerOptions> = {}): NeedsCase {
  const vehicle = vehicleFor(profile, seed);
  const tables = Array.from({ length: DRIVES }, (_, at) => {
    const script = writeScript(seed + 7919 * at, { durationS: driveS(at) });
    return tableOf(recordDrive(vehicle, script, { seed: seed + at, skewPpm: 8, ...logger }).recording);
  });
  const part = new Set(
    vehicle.frames.filter((frame) => moduleOf(vehicle, frame).role === 'inverter').map((frame) => keyOf(frame)),
  );
  return {
    ...observeAll(tables, (key) => part.has(key)),
    phases: demoPhases(vehicle),
    starts: demoStarts(vehicle),
  };
}

function otherPhase(message: MessagePlan, module: ModulePlan): TruePhase | null {
  const { trigger } = message;
  if (trigger.by === 'own timer')
    return { module: module.name, offsetMs: null, periodMs: trigger.periodUs / 1000, slackMs: 0 };
  if (trigger.by !== 'task' || trigger.every === 0) return null;
  const { phaseUs, periodUs } = module.tasks[trigger.task] as TaskPlan;
  const at = trigger.at % trigger.every;
  return {
    module: module.name,
    offsetMs: (phaseUs + at * periodUs) / 1000,
    periodMs: (trigger.every * periodUs) / 1000,
    slackMs: Math.max(1.5, periodUs / 4000),
  };
}

export function recordOtherwiseNeeds(wish: Omit<TrafficWish, 'durationS'>): NeedsCase {
  const takes = Array.from({ length: DRIVES }, (_, take) => makeTraffic({ ...wish, durationS: driveS(take), take }));
  const { plan } = takes[0] as (typeof takes)[0];
  const messages = plan.messages.map((message) => ({
    key: frameKey({
      bus: plan.buses[message.bus]?.name as string,
      id: formatId(message.id),
      extended: message.extended,
    }),
    message,
    module: plan.modules[message.module] as ModulePlan,
  }));
  const part = new Set(messages.filter(({ message }) => message.module === 0).map(({ key }) => key));
  const phases = messages.flatMap(({ key, message, module }) => {
    const phase = otherPhase(message, module);
    return phase ? [[key, phase] as const] : [];
  });
  const recorded = observeAll(
    takes.map(({ table }) => table),
    (key) => part.has(key),
  );
  return { ...recorded, phases: new Map(phases), starts: new Map() };
}
