/**
 * What the person has decided, with undo. Every change goes through `change`, is remembered, and is
 * written to this browser's storage at once; nothing here can be computed again, so nothing here is ever dropped.
 */
import { create } from 'zustand';
import { dossierSchema, emptyDossier, type Dossier, type DossierCapture } from '../../jobs/dossier.ts';
import { keepDossier, keptDossier } from './storage.ts';

interface Step {
  readonly label: string;
  readonly before: Dossier;
  /** Changes with the same strand in a row (one drag) are one step. */
  readonly strand: string | null;
}

export interface DossierState {
  readonly dossier: Dossier;
  /** Oldest first. */
  readonly past: readonly Step[];
  readonly future: readonly Step[];
  /** Milliseconds since 1970; null before the first save. */
  readonly savedAt: number | null;
  readonly saveProblem: string | null;
  /** False until what was saved has come back. */
  readonly restored: boolean;
  /**
   * Puts a new dossier in the place of the old one. `label` says what was done, for the undo button: "rename action".
   * `strand`: give one to make a run of changes (one drag, one field being typed in) a single step.
   */
  change(label: string, recipe: (dossier: Dossier) => Dossier, strand?: string): void;
  undo(): void;
  redo(): void;
  /** Replaces everything, as one step that can be undone. */
  open(dossier: Dossier, label: string): void;
  /** Changes that are facts about files (a digest), not decisions: saved, but no step of their own. */
  note(recipe: (dossier: Dossier) => Dossier): void;
}

const STEPS_KEPT = 500;

export const useDossier = create<DossierState>((set, get) => ({
  dossier: emptyDossier(),
  past: [],
  future: [],
  savedAt: null,
  saveProblem: null,
  restored: false,
  change: (label, recipe, strand) => {
    const { dossier: before, past } = get();
    const dossier = recipe(before);
    if (dossier === before) return;
    const last = past.at(-1);
    const joins = strand !== undefined && last?.strand === strand && get().future.length === 0;
    const steps = joins ? past : [...past, { label, before, strand: strand ?? null }].slice(-STEPS_KEPT);
    set({ dossier, past: steps, future: [] });
    save();
  },
  undo: () => {
    const { dossier, past, future } = get();
    const step = past.at(-1);
    if (!step) return;
    set({ dossier: step.before, past: past.slice(0, -1), future: [...future, { ...step, before: dossier }] });
    save();
  },
  redo: () => {
    const { dossier, past, future } = get();
    const step = future.at(-1);
    if (!step) return;
    set({ dossier: step.before, future: future.slice(0, -1), past: [...past, { ...step, before: dossier }] });
    save();
  },
  open: (dossier, label) => get().change(label, () => dossier),
  note: (recipe) => {
    set({
      dossier: recipe(get().dossier),
      past: get().past.map((step) => ({ ...step, before: recipe(step.before) })),
      future: get().future.map((step) => ({ ...step, before: recipe(step.before) })),
    });
    save();
  },
}));

let saving: Promise<void> = Promise.resolve();
let queued = false;
/** Writes are in order, and a burst of changes becomes one write of the last. */
function save(): void {
  if (queued) return;
  queued = true;
  saving = saving.then(async () => {
    queued = false;
    const savedAt = Date.now();
    try {
      await keepDossier(useDossier.getState().dossier, savedAt);
      useDossier.setState({ savedAt, saveProblem: null });
    } catch {
      useDossier.setState({ saveProblem: 'this browser would not store it: save the dossier to a file' });
    }
  });
}

export async function restoreDossier(): Promise<void> {
  const kept = await keptDossier().catch(() => undefined);
  const parsed = kept && dossierSchema.safeParse(kept.json);
  if (parsed?.success) useDossier.setState({ dossier: parsed.data, savedAt: kept?.savedAt ?? null, restored: true });
  else useDossier.setState({ restored: true });
}

/** One capture's entry replaced; the rest stays as it is. */
export function withCapture(
  dossier: Dossier,
  id: string,
  recipe: (capture: DossierCapture) => DossierCapture,
): Dossier {
  return { ...dossier, captures: dossier.captures.map((capture) => (capture.id === id ? recipe(capture) : capture)) };
}

/** "c1", "c2": the first that is free. */
export function freeCaptureId(dossier: Dossier): string {
  let n = 1;
  while (dossier.captures.some(({ id }) => id === `c${n}`)) n++;
  return `c${n}`;
}

export function newCapture(id: string, title: string, role: string): DossierCapture {
  return {
    id,
    title,
    role,
    files: [],
    columns: {},
    trim: null,
    marks: [],
    markTimeBase: 'capture',
    markOffset: 'auto',
    references: [],
  };
}
