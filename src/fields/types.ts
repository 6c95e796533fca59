/** What the finders say of one identifier's payload. Everything is in the map's own shapes, plus reasons in words. */
import type { ByteOrder, Coding, Placement } from '../frames/bits.ts';
import type { Direction } from '../frames/table.ts';
import type { MapChecksum, MapCounter, MapSelector, MapSignal, MapUnclaimed, When } from '../map/schema.ts';
import type { Habits } from './habits.ts';

/** A signal without a meaning yet: named from its place, role "unknown", standing "guess". */
export type FieldFinding = MapSignal & {
  /** Why these bits were taken for one value, in words for a person. */
  readonly why: string;
};
export type Explained<T> = T & { readonly why: string };

export interface BitStatistics {
  /** Payload bytes looked at. */
  readonly bytes: number;
  readonly frames: number;
  /** [bytes * 8] share of frames in which the bit is set; index byte * 8 + bit. */
  readonly setShare: readonly number[];
  /** [bytes * 8] share of consecutive frames between which the bit changes. */
  readonly changeShare: readonly number[];
}

export interface FrameFindings {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  readonly direction: Direction;
  readonly length: number;
  readonly fd: boolean;
  readonly bits: BitStatistics;
  readonly counters: readonly Explained<MapCounter>[];
  readonly checksums: readonly Explained<MapChecksum>[];
  readonly selectors: readonly Explained<MapSelector>[];
  readonly fields: readonly FieldFinding[];
  readonly unclaimed: readonly Explained<MapUnclaimed>[];
  /** Where the finders would have had it otherwise than a person decided; absent without decisions. */
  readonly disagreements?: readonly Disagreement[];
}

/** What the finders have on bits that a person decided about. */
export interface FoundInstead {
  readonly what: 'field' | 'counter' | 'checksum' | 'selector';
  readonly place: string;
  readonly lsb: { readonly byte: number; readonly bit: number };
  readonly length: number;
  readonly order: ByteOrder;
}

export interface Disagreement extends HandDecision {
  readonly instead: readonly FoundInstead[];
  /** Bits by which a sample of the payloads takes more to write down as the person has it; null where that cannot be said. */
  readonly moreBits: number | null;
  readonly words: string;
}

/** What a person has decided about an identifier; finders work around it and never overwrite it. */
export interface HandDecision {
  /** "rule": the person set the rule of a guard; its bits are the placement. */
  readonly kind: 'field' | 'refused' | 'rule';
  readonly placement: Placement;
  /** How the person reads it; absent: as its values suggest. */
  readonly coding?: Coding;
  /** The rule set, one of the two. */
  readonly counter?: MapCounter;
  readonly checksum?: MapChecksum;
}

/** What a claim is judged by: the weights of its group, from these terms. */
export interface JudgedClaim {
  readonly place: Pick<Placement, 'lsb' | 'length' | 'order'>;
  readonly when: When;
  readonly group: 'flags' | 'states' | 'numbers' | 'pages' | 'selectors';
  readonly terms: Readonly<Record<string, number>>;
}
export type Watch = (judged: JudgedClaim) => void;

export interface FieldOptions {
  /** Told of each claim as it is judged, for the fit of the weights. */
  readonly watch?: Watch;
  readonly decisions?: readonly HandDecision[];
  /** What other identifiers have taught: given, the identifiers are looked at with it, and once only. */
  readonly habits?: Habits;
  readonly seed?: number;
}
