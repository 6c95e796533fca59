/** What merging two maps says, item by item: nothing that either of them held is in neither the map nor this list. */
import type { Problem } from '../../kit/outcome.ts';
import type { SignalMap } from '../../map/schema.ts';

export const SIDES = ['first', 'second'] as const;
export type Side = (typeof SIDES)[number];

export type MergeOutcome =
  | 'equal'
  | 'only-in-first'
  | 'only-in-second'
  /** They agree, and one knows more: what both know is in the map. */
  | 'united'
  /** They contradict each other. */
  | 'conflict';

export type MergeItemKind =
  | 'map'
  | 'presence'
  | 'length'
  | 'timing'
  | 'name'
  | 'role'
  | 'sender'
  | 'rest'
  | 'need'
  | 'selector'
  | 'counter'
  | 'checksum'
  | 'signal'
  | 'unclaimed'
  | 'sequence';

export interface MergeItem {
  /** Null where it is no frame's. */
  readonly frame: {
    readonly bus: string;
    readonly id: string;
    readonly extended: boolean;
    readonly name: string;
  } | null;
  readonly item: MergeItemKind;
  readonly name: string;
  readonly outcome: MergeOutcome;
  /** Whose version is in the map; null where both are. */
  readonly kept: Side | null;
  /** Whether standing or a person's hand decided a conflict; an undecided one is marked in the map as `disputed`. */
  readonly decided: boolean;
  /** For a person. */
  readonly detail: string;
  /** Both versions of a conflict, as they stood. */
  readonly first?: unknown;
  readonly second?: unknown;
}

export interface MergeReport {
  readonly items: readonly MergeItem[];
  /** What the second map calls otherwise: its name -> the merged map's. */
  readonly buses: Readonly<Record<string, string>>;
  readonly captures: {
    readonly first: Readonly<Record<string, string>>;
    readonly second: Readonly<Record<string, string>>;
  };
  readonly warnings: readonly Problem[];
}

export interface Merged {
  readonly map: SignalMap;
  readonly report: MergeReport;
}

/** A version that is not in force, kept in the map under the added key `setAside` of its frame (or of the map). */
export interface SetAside {
  readonly item: MergeItemKind;
  readonly because: string;
  readonly version: unknown;
}

/** One version is kept once, whatever it was set aside for. */
export const versionOf = ({ item, version }: SetAside): unknown => [item, version];
