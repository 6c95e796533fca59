/** What is true of a recording's timing, in one shape for vehicles of both simulators. */
import type { Drive } from '../../src/demo/record.ts';
import type { Vehicle } from '../../src/demo/true-frame.ts';
import { formatId } from '../../src/kit/units.ts';
import type { Traffic } from './otherwise/make-traffic.ts';
import type { Kind, TrueKey } from './otherwise/true-traffic.ts';

export interface TrueTiming {
  readonly module: string;
  readonly kind: Kind;
  readonly alsoRight: readonly Kind[];
  /** By the capture's clock; null without one, or where modes differ. */
  readonly periodMs: number | null;
  readonly replyTo: string | null;
  readonly copyOf: string | null;
  readonly network: 'ring' | 'keep awake' | null;
  readonly lost: number;
}

export interface TimingTruth {
  /** By `keyOf`. */
  readonly identifiers: ReadonlyMap<string, TrueTiming>;
  readonly lost: number;
  /** Moments at which traffic changes its manner, seconds; null where the simulator does not say. */
  readonly boundariesS: readonly number[] | null;
  readonly loggers: readonly { readonly bus: string; readonly aheadS: number; readonly driftPpm: number }[];
}

export const keyOf = ({ bus, id, extended }: { bus: string; id: string; extended: boolean }): string =>
  `${bus}/${id}${extended ? 'x' : ''}`;

const keyOfTrue = ({ bus, id, extended }: TrueKey): string => keyOf({ bus, id: formatId(id), extended });

export function truthOfTraffic({ truth }: Traffic): TimingTruth {
  const identifiers = truth.identifiers.map((each): [string, TrueTiming] => [
    keyOfTrue(each),
    {
      ...each,
      replyTo: each.replyTo && keyOfTrue(each.replyTo),
      copyOf: each.copyOf && keyOfTrue(each.copyOf),
      lost: each.sent - each.recorded,
    },
  ]);
  return {
    identifiers: new Map(identifiers),
    lost: truth.lost,
    boundariesS: truth.modes.slice(1).map(({ fromS }) => fromS),
    loggers: truth.loggers,
  };
}

/** How much longer a module's period looks to the logger than it is meant to be. */
function scaleOf(vehicle: Vehicle, module: number, loggerPpm: number): number {
  return 1 + (loggerPpm - (vehicle.modules[module]?.habits.timing.skewPpm ?? 0)) * 1e-6;
}

export function truthOfDrive(vehicle: Vehicle, { recording }: Drive, loggerPpm: number): TimingTruth {
  const identifiers = new Map<string, TrueTiming>();
  for (const frame of vehicle.frames) {
    if (frame.diagnostic !== null) continue;
    const source = frame.copyOf === null ? frame : (vehicle.frames[frame.copyOf] as typeof frame);
    const { tickMs } = (vehicle.modules[source.module] as Vehicle['modules'][0]).habits.timing;
    // A module sends in whole ticks of its task.
    const ownMs = Math.max(1, Math.round(source.periodMs / tickMs)) * tickMs;
    identifiers.set(keyOf({ bus: frame.map.bus, id: formatId(frame.id), extended: frame.extended }), {
      module: vehicle.modules[frame.module]?.name ?? '',
      kind: source.kind,
      // Without a change to see, a mixed identifier is periodic; with hardly any, an on-change one has no rule.
      alsoRight: source.kind === 'mixed' ? ['periodic'] : [],
      periodMs: source.kind === 'on-change' ? null : ownMs * scaleOf(vehicle, source.module, loggerPpm),
      replyTo: null,
      copyOf: frame.copyOf === null ? null : keyOf(source.map),
      network: frame.network ? 'keep awake' : null,
      lost: 0,
    });
  }
  return { identifiers, lost: recording.lost, boundariesS: null, loggers: [] };
}
