/** How a place asks for a long finding of the capture that is open: once a key, kept, out of date while a newer one is made. */
import { createContext, useContext, useEffect, useMemo } from 'react';
import type { DossierCapture } from '../../jobs/dossier.ts';
import type { Engine } from '../../jobs/engine-types.ts';
import type { Control } from '../../kit/control.ts';
import { useCaptures, type OpenCapture } from './captures.ts';
import { useDossier } from './dossier.ts';
import { ensureFinding, findingKey, useFindings, type FindingJob, type Slot } from './findings.ts';
import { useView } from './view.ts';

export interface CurrentCapture {
  readonly entry: DossierCapture;
  readonly open: OpenCapture;
}

/** What a place looks at instead of the capture that is open: everything below asks about that one. null: the open one. */
export const LookedAt = createContext<string | null>(null);

function useCaptureId(): string | null {
  const other = useContext(LookedAt);
  const open = useView(({ captureId }) => captureId);
  return other ?? open;
}

/** The capture the person looks at; undefined before there is one. */
export function useCurrentCapture(): CurrentCapture | undefined {
  const id = useCaptureId();
  const entry = useDossier(({ dossier }) => dossier.captures.find((capture) => capture.id === id));
  const open = useCaptures((state) => state.open.find((capture) => capture.id === id));
  return useMemo(() => (entry && open ? { entry, open } : undefined), [entry, open]);
}

/** The engine and a name for its present content, for keys of picture questions; null until it has been read. */
export function useReadyEngine(): { readonly engine: Engine; readonly identity: string } | null {
  const id = useCaptureId();
  const open = useCaptures((state) => state.open.find((capture) => capture.id === id));
  return useMemo(
    () =>
      open?.phase === 'ready' && open.engine ? { engine: open.engine, identity: `${open.id}@${open.revision}` } : null,
    [open],
  );
}

export interface Finding<T> {
  readonly value: T | null;
  /** The value is from before the last change. */
  readonly outdated: boolean;
  readonly slot: Slot | null;
  again(): void;
}

const lastDone = new Map<string, unknown>();

/** How long nothing may change before a job starts: a mark that is being dragged is not worth an analysis a pixel. */
const QUIET_MS: Readonly<Partial<Record<FindingJob, number>>> = {
  link: 500,
  fit: 300,
  modes: 300,
  sequences: 500,
  meaning: 500,
  prove: 300,
  suffices: 300,
  'report-traces': 500,
};

/** Of these one answer is shown at a time: what was asked of marks or of a clock that have changed since is not worth waiting for. */
const ONE_AT_A_TIME: readonly FindingJob[] = [
  'link',
  'fit',
  'sequences',
  'meaning',
  'prove',
  'suffices',
  'report-traces',
];

/** Of a capture that is only looked at no more is worked out than this: what was found of it before is shown. */
const ASKED_OF_OTHERS: readonly FindingJob[] = ['survey', 'prove'];
/** And where its marks stand, once the map has been held against it: marks drawn where they were not made would explain nothing. */
const ASKED_FOR_MARKS: readonly FindingJob[] = ['fields', 'diagnostics', 'link'];

const needsClock = ({ entry }: CurrentCapture): boolean => entry.marks.length > 0 && entry.markOffset === 'auto';

/** Whether a job may start of the capture that is looked at. */
function useIsDue(job: FindingJob, current: CurrentCapture | undefined, digest: string | null): boolean {
  const looksElsewhere = useContext(LookedAt) !== null;
  const forMarks = looksElsewhere && ASKED_FOR_MARKS.includes(job) && current !== undefined && needsClock(current);
  const isProved = useFindings(
    ({ slots }) =>
      forMarks &&
      Object.values(slots).some(({ key, state }) => state === 'done' && key.startsWith(`${digest ?? ''}/prove.`)),
  );
  return !looksElsewhere || ASKED_OF_OTHERS.includes(job) || isProved;
}

function stopOlder(digest: string, job: FindingJob, key: string): void {
  const { slots, forget } = useFindings.getState();
  for (const slot of Object.values(slots)) {
    if (slot.key === key || slot.state !== 'running' || !slot.key.startsWith(`${digest}/${job}.`)) continue;
    slot.stop();
    forget(slot.key);
  }
}

export function useFinding<T>(
  job: FindingJob,
  options: unknown,
  run: ((engine: Engine, control: Control) => Promise<T>) | null,
  /** False: not yet, something more urgent comes first. */
  mayStart = true,
): Finding<T> {
  const current = useCurrentCapture();
  const digest = current?.open.phase === 'ready' ? (current.open.summary?.digest ?? null) : null;
  const isDue = useIsDue(job, current, digest) && mayStart;
  const engine = current?.open.engine ?? null;
  const key = useMemo(() => (digest && run ? findingKey(digest, job, options) : null), [digest, job, options, run]);
  const slot = useFindings(({ slots }) => (key ? slots[key] : undefined));
  useEffect(() => {
    if (!key || !engine || !run || !isDue) return;
    const timer = setTimeout(() => {
      if (ONE_AT_A_TIME.includes(job)) stopOlder(digest ?? '', job, key);
      ensureFinding(key, (control) => run(engine, control));
    }, QUIET_MS[job] ?? 0);
    return () => clearTimeout(timer);
  }, [job, digest, key, engine, run, isDue]);
  const shelf = `${digest ?? ''}/${job}`;
  const done = slot?.state === 'done';
  useEffect(() => {
    if (done) lastDone.set(shelf, slot.value);
  }, [done, slot, shelf]);
  const before = key && !done ? lastDone.get(shelf) : undefined;
  return {
    value: ((done ? slot.value : before) as T | undefined) ?? null,
    outdated: !done && before !== undefined,
    slot: slot ?? null,
    again: () => {
      if (!key || !engine || !run) return;
      useFindings.getState().forget(key);
      ensureFinding(key, (control) => run(engine, control));
    },
  };
}
