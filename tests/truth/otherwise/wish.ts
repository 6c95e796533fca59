/** What kind of traffic is wanted. Everything else is drawn from the seed. */
import type { ModeSpan } from './plan.ts';

export interface LoggerWish {
  /** Stamps are whole multiples of it, cut off. */
  readonly resolutionUs: number;
  /** Between the end of a frame and its stamp: at least, typically more by, and now and then up to. */
  readonly latencyUs: readonly [least: number, more: number, rarely: number];
  /** Fetched every so many ms with one stamp for all. */
  readonly pollMs: number;
  /** Delivered when so many are there or the first has waited so long, stamped one by one on arrival. */
  readonly transfer: { readonly frames: number; readonly withinMs: number; readonly apartUs: number } | null;
  readonly skewPpm: number;
  readonly wanderPpm: number;
  /** Its clock is set by so much. */
  readonly jumps: readonly { readonly atS: number; readonly byS: number }[];
  /** Stamps begin at 0 again. */
  readonly restartsS: readonly number[];
  readonly holes: readonly { readonly atS: number; readonly forS: number }[];
  readonly lossBursts: number;
  readonly lossMost: number;
  /** Share lost where the bus is busiest. */
  readonly lossUnderLoad: number;
}

export const GOOD_LOGGER: LoggerWish = {
  resolutionUs: 1,
  latencyUs: [1, 3, 0],
  pollMs: 0,
  transfer: null,
  skewPpm: 12,
  wanderPpm: 0.3,
  jumps: [],
  restartsS: [],
  holes: [],
  lossBursts: 0,
  lossMost: 0,
  lossUnderLoad: 0,
};

export interface TrafficWish {
  readonly seed: number;
  readonly durationS: number;
  /** Another recording of the same vehicle: other actions, phases and values; default 0. */
  readonly take?: number;
  /** Default one. */
  readonly buses?: 1 | 2;
  /** bit/s by bus; default drawn from 125k to 1M. */
  readonly bitrates?: readonly number[];
  readonly modules?: number;
  /** Most share of the wire, by bus; default drawn between 0.2 and 0.5. */
  readonly load?: number;
  /** Share of modules with a ceramic resonator; default a quarter. */
  readonly resonators?: number;
  /** Clocks lie so, in turn, instead of being drawn. */
  readonly skewsPpm?: readonly number[];
  /** Share of identifiers with 29 bits; default 0.1. */
  readonly extended?: number;
  /** Share of messages that only tasks send, on their period; default 0.7. */
  readonly plain?: number;
  /** One mode all the while (default), or sleep, wake, drive, charge: `modes` drawn over the duration. */
  readonly steady?: boolean;
  readonly modes?: readonly ModeSpan[];
  /** Modules (by place) that are unplugged. */
  readonly unplugged?: readonly number[];
  /** So many modules are reset while the recording runs. */
  readonly resets?: number;
  readonly errorShare?: number;
  readonly logger?: Partial<LoggerWish>;
  /** The second bus is recorded by a second logger, ahead by so much at the start and drifting. */
  readonly secondLogger?: { readonly aheadS: number; readonly logger: Partial<LoggerWish> };
}
