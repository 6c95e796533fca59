/**
 * The captures that are open: for each an engine that owns its frames, how far reading has come, and
 * what it said. Entries are replaced whole; `revision` grows with every reading, and answers are keyed by it.
 */
import { create } from 'zustand';
import type { ReadingProgress } from '../../frames/reading-types.ts';
import type { CaptureSummary, Engine } from '../../jobs/engine-types.ts';
import type { Problem } from '../../kit/outcome.ts';

export type CapturePhase =
  /** Another capture is being read first. */
  | 'waiting'
  | 'reading'
  | 'ready'
  | 'failed'
  | 'stopped'
  /** Its files are not in this browser: the person has to hand them over again. */
  | 'missing'
  /** Marks that were taken before their recording exists here. */
  | 'unrecorded';

export interface OpenFile {
  readonly name: string;
  readonly blob: Blob;
  readonly bus?: string;
}

/** One moment of reading: frames of each stream so far, for the picture that grows. */
export interface ReadingStep {
  readonly reachedS: number;
  /** In the order of `ReadingProgress.streams`. */
  readonly counts: readonly number[];
}

export interface OpenCapture {
  /** As in the dossier. */
  readonly id: string;
  readonly engine: Engine | null;
  readonly revision: number;
  readonly phase: CapturePhase;
  readonly files: readonly OpenFile[];
  /** Names and sizes of the files that the dossier speaks of, to see when they have changed. */
  readonly described: string;
  /** False where the browser had no room to keep the files. */
  readonly kept: boolean;
  readonly progress: ReadingProgress | null;
  readonly steps: readonly ReadingStep[];
  /** Milliseconds of `performance.now()`. */
  readonly startedAtMs: number;
  readonly lastsMs: number;
  /** From the start of reading to the first identifier; null before it. */
  readonly firstIdentifierMs: number | null;
  readonly summary: CaptureSummary | null;
  readonly problems: readonly Problem[];
}

interface CapturesState {
  readonly open: readonly OpenCapture[];
  put(capture: OpenCapture): void;
  patch(id: string, part: Partial<OpenCapture>): void;
  drop(id: string): void;
}

export const useCaptures = create<CapturesState>((set, get) => ({
  open: [],
  put: (capture) => {
    const { open } = get();
    const known = open.some(({ id }) => id === capture.id);
    set({ open: known ? open.map((old) => (old.id === capture.id ? capture : old)) : [...open, capture] });
  },
  patch: (id, part) => set({ open: get().open.map((old) => (old.id === id ? { ...old, ...part } : old)) }),
  drop: (id) => set({ open: get().open.filter((old) => old.id !== id) }),
}));

export const findOpen = (id: string | null): OpenCapture | undefined =>
  useCaptures.getState().open.find((capture) => capture.id === id);

export const blankCapture = (id: string, phase: CapturePhase): OpenCapture => ({
  id,
  engine: null,
  revision: 0,
  phase,
  files: [],
  described: '',
  kept: true,
  progress: null,
  steps: [],
  startedAtMs: 0,
  lastsMs: 0,
  firstIdentifierMs: null,
  summary: null,
  problems: [],
});
