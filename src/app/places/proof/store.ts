/** What is held in Proof, and the map that it speaks of. */
import { create } from 'zustand';
import type { SignalMap } from '../../../map/schema.ts';
import type { ProofReport } from '../../../proof/hold/types.ts';
import type { Choices } from './agree.ts';
import type { Filter } from './rows.ts';

/** The map of the open capture as it is put together now. */
export interface MadeMap {
  /** null until its fields are found. */
  readonly map: SignalMap | null;
  /** The same with what other captures proved, as Handover would save it. */
  readonly whole: SignalMap | null;
  /** Nothing that would change it is still being worked out. */
  readonly settled: boolean;
  /** What it waits for, for a person. */
  readonly waits: string;
  /** How far that has come, 0..1. */
  readonly share: number;
}

/** A map that was opened from a file. */
export interface OpenedMap {
  readonly name: string;
  readonly map: SignalMap;
}

export interface HeldReport {
  /** Of the capture that the map was made from. */
  readonly madeFrom: string;
  /** Of the capture that it was held against. */
  readonly title: string;
  readonly report: ProofReport;
}

interface ProofState {
  readonly made: MadeMap;
  /** null: the map of the open capture. */
  readonly opened: OpenedMap | null;
  readonly filter: Filter;
  /** Key of the frame that is held, and of its item; the frame's items are listed where it is open. */
  readonly frame: string | null;
  readonly item: string | null;
  readonly open: boolean;
  readonly choosing: boolean;
  /** The need, and the recording, that are held. */
  readonly need: string | null;
  readonly recording: number;
  /** What is enough is listed too. */
  readonly met: boolean;
  /** Another person's map of the part, what was chosen of each conflict with it, and the conflict that is held. */
  readonly other: OpenedMap | null;
  readonly choices: Choices;
  readonly conflict: string | null;
  /** What the map of an open capture was held against so far, for its report: by that capture and the other one. */
  readonly held: Readonly<Record<string, HeldReport>>;
  /** Of the last holding, for the rail: "214 hold, 3 fail". */
  readonly told: string | null;
  set(part: Partial<Omit<ProofState, 'set'>>): void;
}

export const useProof = create<ProofState>((set) => ({
  made: { map: null, whole: null, settled: false, waits: '', share: 0 },
  opened: null,
  filter: 'all',
  frame: null,
  item: null,
  open: false,
  choosing: false,
  need: null,
  recording: 0,
  met: false,
  other: null,
  choices: {},
  conflict: null,
  held: {},
  told: null,
  set,
}));
