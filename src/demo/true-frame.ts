/** The simulated vehicle as data: modules, frames with their true map entries, and where each field's value comes from. */
import type { ByteOrder, Piece } from '../frames/bits.ts';
import type { MapFrame, MapSignal, SignalMap } from '../map/schema.ts';
import type { Habits } from './habits.ts';
import type { PhysicsParameters } from './physics/parameters.ts';
import type { ModuleRole, QuantityName } from './quantities.ts';
import type { SendingKind } from './topics.ts';

/** Where a field's value comes from. */
export type ValueSource =
  | { readonly from: 'physics'; readonly quantity: QuantityName; readonly bias: number }
  /** 1 while the module has been awake for less than so long, then 0. */
  | { readonly from: 'since-wake'; readonly untilMs: number }
  | { readonly from: 'text'; readonly text: string };

export interface TrueField {
  /** Name of the signal in its frame. */
  readonly name: string;
  readonly source: ValueSource;
  /** The value is this much older than the frame. */
  readonly delayMs: number;
  /** The value is taken anew only so often; 0: for each frame. */
  readonly refreshMs: number;
  /** States and flags: raw value of each state in order; empty for numbers. */
  readonly codes: readonly number[];
  /** Raw value that says "no data", or null where the supplier has none. */
  readonly noData: number | null;
  /** Raw selector value of its page, or null. */
  readonly page: number | null;
}

/** A tag that a finder must not be able to explain: keyed with a freshness nobody sees, or a rule outside all families. */
export interface SecretTag {
  readonly piece: Piece;
  readonly kind: 'keyed' | 'odd';
  readonly key: number;
}

interface Relay {
  readonly bus: number;
  readonly delayUs: number;
  /** Index of the copy in `Vehicle.frames`. */
  readonly copy: number;
}

export interface TrueFrame {
  readonly map: MapFrame;
  /** Index in `Vehicle.modules`. */
  readonly module: number;
  /** Index in `Vehicle.buses`. */
  readonly bus: number;
  readonly id: number;
  readonly extended: boolean;
  readonly fd: boolean;
  readonly topics: readonly string[];
  readonly kind: SendingKind;
  readonly periodMs: number;
  /** Place in the order in which the module's task sends. */
  readonly order: number;
  /** Ticks by which it is shifted in its period. */
  readonly phase: number;
  readonly fields: readonly TrueField[];
  /** Raw selector values in the order of their turn; empty without pages. */
  readonly pages: readonly number[];
  /** Constants and fillings, [length]. */
  readonly base: Uint8Array;
  /** Bytes that hold noise or ciphertext. */
  readonly noise: readonly number[];
  readonly tag: SecretTag | null;
  readonly relay: Relay | null;
  /** Set on the gateway's copy; such a frame is not scheduled by itself. */
  readonly copyOf: number | null;
  /** Network management: hasty after waking, silent before sleep. */
  readonly network: boolean;
  /** A question of the logger, or a module's answer to it; null for ordinary traffic. */
  readonly diagnostic: 'request' | 'reply' | null;
  /** Sent less often while a module that it serves is absent. */
  readonly slowsWithout: { readonly role: ModuleRole; readonly periodMs: number } | null;
}

export interface VehicleModule {
  readonly role: ModuleRole;
  readonly letter: string;
  readonly name: string;
  readonly bus: number;
  readonly habits: Habits;
  /** Roles whose work it does. */
  readonly hosts: readonly ModuleRole[];
  /** Called to wake with the powertrain, or with doors and plug too. */
  readonly wakesWith: 'powertrain' | 'body';
}

export interface VehicleBus {
  readonly name: string;
  readonly bitrate: number;
  readonly dataBitrate: number | null;
}

export interface Vehicle {
  readonly seed: number;
  readonly profile: string;
  readonly parameters: PhysicsParameters;
  readonly buses: readonly VehicleBus[];
  readonly modules: readonly VehicleModule[];
  readonly frames: readonly TrueFrame[];
  readonly map: SignalMap;
}

/** A piece as the map's schema takes it: a type, not an interface, so that it may carry unknown keys. */
export type MapPiece = { lsb: { byte: number; bit: number }; length: number; order: ByteOrder };
export const mapPiece = ({ lsb, length, order }: Piece): MapPiece => ({
  lsb: bitAddress(lsb.byte, lsb.bit),
  length,
  order,
});
/** What a true signal says where nothing else is known of it: fresh lists, so that no two signals share them. */
export const plainSignal = () =>
  ({
    when: null,
    scale: 1,
    offset: 0,
    unit: '',
    observed: null,
    allowed: null,
    invalid: [],
    states: {},
    table: null,
    standing: 'supported',
    sending: 'untested',
    confidence: 1,
    evidence: [],
    notes: '',
  }) satisfies Partial<MapSignal>;
export const bitAddress = (byte: number, bit: number): { byte: number; bit: number } => ({ byte, bit });
export const hex = (value: number): string => '0x' + value.toString(16).toUpperCase();
