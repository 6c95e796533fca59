/** What is true of a recording's timing, in one shape for vehicles of both simulators. */
import type { Drive } from '../../src/demo/record.ts';
import type { LoggerOptions } from '../../src/demo/recording/logger.ts';
import type { Vehicle } from '../../src/demo/true-frame.ts';
import type { ClockEvent } from '../../src/frames/table.ts';
import { formatId } from '../../src/kit/units.ts';
import { frameKey } from '../../src/map/identifiers.ts';
import type { Traffic } from './otherwise/make-traffic.ts';
import { GOOD_LOGGER, type LoggerWish } from './otherwise/wish.ts';
import type { Kind, TrueKey } from './otherwise/true-traffic.ts';

export interface TrueTiming {
  readonly module: string;
  readonly kind: Kind;
  readonly alsoRight: readonly Kind[];
  /** By the capture's clock; null without one, or where modes differ. */
  readonly periodMs: number | null;
  /** Only where modes differ. */
  readonly periodMsByMode: Readonly<Record<string, number | null>> | null;
  readonly replyTo: string | null;
  readonly copyOf: string | null;
  readonly network: 'ring' | 'keep awake' | null;
}

export interface TimingTruth {
  /** By `frameKey`. */
  readonly identifiers: ReadonlyMap<string, TrueTiming>;
  readonly lost: number;
  /** Frames that modules counted and never sent: counters miss these too. */
  readonly dropped: number;
  /** Stretches in which traffic changes its manner; `must`: by two identifiers or more, and not one module alone. */
  readonly turns: readonly { readonly fromS: number; readonly toS: number; readonly must: boolean }[];
  /** Of the first bus's logger: its clock was set, started anew, or it recorded nothing. */
  readonly clockEvents: readonly {
    readonly kind: ClockEvent['kind'] | 'hole';
    readonly atS: number;
    readonly byS: number;
  }[];
  readonly resolutionUs: number;
  /** null: stamps are multiples of the time between two polls, and a coarse clock would leave the same ones. */
  readonly isBatched: boolean | null;
  readonly modes: readonly { readonly mode: string; readonly fromS: number; readonly toS: number }[];
  readonly loggers: readonly { readonly bus: string; readonly aheadS: number; readonly driftPpm: number }[];
}

/** `frameKey` of an identifier of the second simulator. */
export const keyOfTrue = ({ bus, id, extended }: TrueKey): string => frameKey({ bus, id: formatId(id), extended });

export function truthOfTraffic({ truth }: Traffic, given: Partial<LoggerWish> = {}): TimingTruth {
  const logger = { ...GOOD_LOGGER, ...given };
  const identifiers = truth.identifiers.map((each): [string, TrueTiming] => [
    keyOfTrue(each),
    {
      ...each,
      replyTo: each.replyTo && keyOfTrue(each.replyTo),
      copyOf: each.copyOf && keyOfTrue(each.copyOf),
    },
  ]);
  return {
    identifiers: new Map(identifiers),
    lost: truth.lost,
    dropped: truth.dropped,
    turns: truth.turns.map(({ fromS, toS, because, identifiers: n }) => ({
      fromS,
      toS,
      must: because === 'mode' && n >= 2,
    })),
    modes: truth.modes,
    clockEvents: truth.clockEvents,
    resolutionUs: Math.max(logger.resolutionUs, 1000 * logger.pollMs),
    isBatched: logger.pollMs > 0 ? null : logger.transfer !== null,
    loggers: truth.loggers,
  };
}

/** How much longer a module's period looks to the logger than it is meant to be. */
function scaleOf(vehicle: Vehicle, module: number, loggerPpm: number): number {
  return 1 + (loggerPpm - (vehicle.modules[module]?.habits.timing.skewPpm ?? 0)) * 1e-6;
}

/** Modules are called awake and let go; nothing else changes their periods. */
function turnsOfDrive(vehicle: Vehicle, { truth, recording }: Drive): TimingTruth['turns'] {
  const firstS = (recording.timeUs[0] ?? 0) / 1e6;
  const timings = vehicle.modules.map(({ habits }) => habits.timing);
  const bootS = Math.max(...timings.map(({ bootMs }) => bootMs)) / 1000;
  const lingerS = Math.max(...timings.map(({ lingerMs }) => lingerMs)) / 1000;
  return [truth.powertrainAwake, truth.bodyAwake].flatMap((calls) =>
    [...calls.keys()]
      .filter((step) => step > 0 && calls[step] !== calls[step - 1])
      .map((step) => {
        const fromS = step * truth.stepS - firstS;
        // What happens before the first frame is not in the recording.
        return { fromS, toS: fromS + (calls[step] ? 1.1 * bootS : lingerS), must: fromS > 3 };
      }),
  );
}

/** Its place was drawn: the longest silence of the recording. */
function holesOf({ recording }: Drive, { holeS }: LoggerOptions): TimingTruth['clockEvents'] {
  if (holeS === 0) return [];
  const { timeUs } = recording;
  let longest = 1;
  for (let row = 1; row < timeUs.length; row++) {
    const spacing = (at: number): number => (timeUs[at] as number) - (timeUs[at - 1] as number);
    if (spacing(row) > spacing(longest)) longest = row;
  }
  return [{ kind: 'hole', atS: ((timeUs[longest - 1] as number) - (timeUs[0] as number)) / 1e6, byS: holeS }];
}

export function truthOfDrive(vehicle: Vehicle, drive: Drive, logger: LoggerOptions): TimingTruth {
  const { recording } = drive;
  const identifiers = new Map<string, TrueTiming>();
  for (const frame of vehicle.frames) {
    if (frame.diagnostic !== null) continue;
    const source = frame.copyOf === null ? frame : (vehicle.frames[frame.copyOf] as typeof frame);
    const { tickMs } = (vehicle.modules[source.module] as Vehicle['modules'][0]).habits.timing;
    // A module sends in whole ticks of its task.
    const ownMs = Math.max(1, Math.round(source.periodMs / tickMs)) * tickMs;
    identifiers.set(frameKey(frame.map), {
      module: vehicle.modules[frame.module]?.name ?? '',
      kind: source.kind,
      // Without a change to see, a mixed identifier is periodic; with hardly any, an on-change one has no rule.
      alsoRight: source.kind === 'mixed' ? ['periodic'] : [],
      periodMs: source.kind === 'on-change' ? null : ownMs * scaleOf(vehicle, source.module, logger.skewPpm),
      periodMsByMode: null,
      replyTo: null,
      copyOf: frame.copyOf === null ? null : frameKey(source.map),
      network: frame.network ? 'keep awake' : null,
    });
  }
  return {
    identifiers,
    lost: recording.lost,
    dropped: 0,
    turns: turnsOfDrive(vehicle, drive),
    modes: [],
    clockEvents: holesOf(drive, logger),
    resolutionUs: Math.max(logger.resolutionUs, 1000 * logger.batchMs),
    isBatched: logger.batchMs > 0 ? null : false,
    loggers: [],
  };
}
