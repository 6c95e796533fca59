/**
 * Pairs of drives of one simulated vehicle, the second with a module unplugged: what the comparison says of it against what the
 * simulation knows. The second drive is another one, shorter, and in half of the cases its adapter leads are swapped.
 */
import type { ProfileName } from '../../src/demo/profiles.ts';
import { quantityOf, type ModuleRole, type QuantityName } from '../../src/demo/quantities.ts';
import { recordDrive, type Drive } from '../../src/demo/record.ts';
import type { LoggerOptions } from '../../src/demo/recording/logger.ts';
import { tableOf } from '../../src/demo/recording/to-table.ts';
import { writeScript, type ScriptShape } from '../../src/demo/script.ts';
import type { TrueFrame, Vehicle } from '../../src/demo/true-frame.ts';
import { vehicleFor } from '../../src/demo/vehicle.ts';
import { rawColumn } from '../../src/frames/bits.ts';
import { findStream, type FrameTable } from '../../src/frames/table.ts';
import { createRandom } from '../../src/kit/random.ts';
import { frameKey } from '../../src/map/identifiers.ts';
import { compareTables } from '../../src/proof/compare.ts';
import type { Comparison } from '../../src/proof/compare/types.ts';
import type { Claims } from './support/claims.ts';

export interface UnpluggedCase {
  readonly profile: ProfileName;
  readonly seed: number;
  readonly first: ScriptShape;
  readonly second: ScriptShape;
  readonly logger?: Partial<LoggerOptions>;
  /** Which module; drawn from the seed where not given. Null: none is. */
  readonly role?: ModuleRole | null;
}

export interface Unplugged {
  readonly role: ModuleRole | null;
  readonly vehicle: Vehicle;
  readonly swapped: boolean;
  readonly first: FrameTable;
  readonly second: FrameTable;
  readonly comparison: Comparison;
  readonly truth: Truth;
}

/** Frame keys on the buses of the first capture. */
export interface Truth {
  /** In the first capture, and sent by the module itself. */
  readonly sentBy: ReadonlySet<string>;
  /** May be listed as sent by it: what nobody can tell from the traffic. */
  readonly maySend: ReadonlySet<string>;
  /** Must be named: slower, or a field that shows a default which the first never showed. */
  readonly reacts: ReadonlySet<string>;
  /** May be named: faults that begin, and fields that hold a default which the first showed now and then. */
  readonly mayReact: ReadonlySet<string>;
}

function swapBuses(table: FrameTable): FrameTable {
  const { buses } = table;
  const other = (bus: string): string => buses[(buses.indexOf(bus) + 1) % buses.length] as string;
  return {
    ...table,
    streams: table.streams.map((stream) => ({ ...stream, bus: other(stream.bus) })),
    errors: table.errors.map((errors) => ({ ...errors, bus: other(errors.bus) })),
  };
}

/** What the simulation changes elsewhere when the inverter is missing: faults, and states that wait for it. */
const CONSEQUENCES: readonly QuantityName[] = [
  'drive_fault',
  'pack_fault',
  'warning_lamp',
  'drive_allowed',
  'contactor_state',
  'contactor_positive',
  'contactor_negative',
  'precharge_active',
  'contactor_request',
  'vehicle_mode',
  'torque_limit_drive',
  'torque_limit_regen',
  'torque_request',
  'power_request',
];

const SETTLED_S = 6;
const NEVER = 0.0005;
const ALWAYS = 0.995;

type DefaultSeen = 'never before' | 'before' | 'no';

/** Whether a field holds one value throughout the second capture, and whether the first ever held it once it had started. */
function seenDefault(frame: TrueFrame, name: string, first: FrameTable, second: FrameTable): DefaultSeen {
  const signal = frame.map.signals.find((each) => each.name === name);
  const [a, b] = [first, second].map((table) =>
    findStream(table, { bus: frame.map.bus, id: frame.id, extended: frame.extended, direction: 'received' }),
  );
  if (!signal || !a || !b || signal.length > 52 || signal.when !== null) return 'no';
  const later = (table: FrameTable, column: Float64Array, timeUs: Float64Array): number[] =>
    [...column].filter((_, row) => (timeUs[row] as number) > Math.min(SETTLED_S * 1e6, 0.25 * table.endUs));
  const [before, after] = [later(first, rawColumn(a, signal), a.timeUs), later(second, rawColumn(b, signal), b.timeUs)];
  const value = after[Math.floor(after.length / 2)];
  const share = (list: readonly number[]): number =>
    list.filter((each) => each === value).length / Math.max(1, list.length);
  if (share(after) < ALWAYS || before.length < 40 || after.length < 40) return 'no';
  return share(before) <= NEVER ? 'never before' : 'before';
}

function truthOf(vehicle: Vehicle, role: ModuleRole | null, first: FrameTable, second: FrameTable): Truth {
  const [sentBy, reacts, mayReact] = [new Set<string>(), new Set<string>(), new Set<string>()];
  const module = vehicle.modules.findIndex((each) => each.role === role);
  for (const frame of vehicle.frames) {
    const key = frameKey(frame.map);
    const there = findStream(first, {
      bus: frame.map.bus,
      id: frame.id,
      extended: frame.extended,
      direction: 'received',
    });
    if (!there || role === null || frame.diagnostic !== null) continue;
    if (frame.module === module && frame.copyOf === null) {
      sentBy.add(key);
      continue;
    }
    if (frame.slowsWithout?.role === role) reacts.add(key);
    for (const { name, source } of frame.fields) {
      if (source.from !== 'physics') continue;
      const absent = quantityOf(source.quantity).source === role;
      const follows = role === 'inverter' && CONSEQUENCES.includes(source.quantity);
      if (!absent && !follows) continue;
      const seen = absent ? seenDefault(frame, name, first, second) : 'before';
      (seen === 'never before' ? reacts : mayReact).add(key);
    }
  }
  return { sentBy, maySend: new Set(), reacts, mayReact };
}

export function recordUnplugged(given: UnpluggedCase): Unplugged {
  const { profile, seed, logger } = given;
  const vehicle = vehicleFor(profile, seed);
  const random = createRandom(seed).fork('unplugged');
  const role = given.role === undefined ? random.pick(vehicle.modules).role : given.role;
  const swapped = random.next() < 0.5;
  const drive = (shape: ScriptShape, at: number): Drive =>
    recordDrive(vehicle, writeScript(seed + 7919 * at, shape), { seed: seed + at, skewPpm: 8, ...logger });
  const first = tableOf(drive(given.first, 0).recording);
  const second = tableOf(drive({ ...given.second, unplugged: role ? [role] : [] }, 1).recording);
  const comparison = compareTables(first, swapped ? swapBuses(second) : second);
  return { role, vehicle, swapped, first, second, comparison, truth: truthOf(vehicle, role, first, second) };
}

export interface UnpluggedScore {
  readonly sent: Claims;
  readonly reacts: Claims;
}

/** Reactions of frames that may but need not be named count neither way. */
export function scoreUnplugged({ comparison, truth }: Pick<Unplugged, 'comparison' | 'truth'>): UnpluggedScore {
  const sent = new Set(comparison.absent.sentBy.map(frameKey));
  const reacting = new Set(comparison.absent.reacts.map(frameKey));
  const count = (list: Iterable<string>, of: (key: string) => boolean): number => [...list].filter(of).length;
  return {
    sent: {
      right: count(sent, (key) => truth.sentBy.has(key)),
      wrong: count(sent, (key) => !truth.sentBy.has(key) && !truth.maySend.has(key)),
      missed: count(truth.sentBy, (key) => !sent.has(key)),
    },
    reacts: {
      right: count(reacting, (key) => truth.reacts.has(key)),
      wrong: count(reacting, (key) => !truth.reacts.has(key) && !truth.mayReact.has(key)),
      missed: count(truth.reacts, (key) => !reacting.has(key)),
    },
  };
}
