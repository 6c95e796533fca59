/**
 * Opening captures: files go to an engine one capture at a time, progress comes back, and what the
 * files are (digests, chosen columns) is noted in the dossier. The files are kept in this browser so that a reload finds them.
 */
import type { ReadingProgress } from '../../frames/reading-types.ts';
import type { CaptureSummary } from '../../jobs/engine-types.ts';
import type { DossierCapture } from '../../jobs/dossier.ts';
import { Cancelled } from '../../kit/control.ts';
import type { Problem } from '../../kit/outcome.ts';
import { createEngine } from '../engines.ts';
import { sourceOf } from '../file-sources.ts';
import { blankCapture, findOpen, useCaptures, type OpenFile } from './captures.ts';
import { freeCaptureId, newCapture, useDossier, withCapture } from './dossier.ts';
import { fileKey, keepFile } from './storage.ts';
import { useView } from './view.ts';

const stops = new Map<string, AbortController>();
let queue: Promise<void> = Promise.resolve();

/** Captures wait for their turn; asking again for one that waits or reads begins it anew. */
export function read(id: string): void {
  stops.get(id)?.abort();
  const stopping = new AbortController();
  stops.set(id, stopping);
  latest.delete(id);
  useCaptures.getState().patch(id, { phase: 'waiting', progress: null, steps: [], problems: [], summary: null });
  queue = queue.then(() => (stopping.signal.aborted ? undefined : readNow(id, stopping)));
}

async function readNow(id: string, stopping: AbortController): Promise<void> {
  const { patch } = useCaptures.getState();
  const before = findOpen(id);
  const entry = useDossier.getState().dossier.captures.find((capture) => capture.id === id);
  if (!before || !entry) return;
  await before.engine?.close();
  const engine = createEngine();
  const startedAtMs = performance.now();
  patch(id, { engine, phase: 'reading', startedAtMs, lastsMs: 0, firstIdentifierMs: null });
  const inputs = before.files.map(({ name, blob, bus }) => ({ source: sourceOf(name, blob), bus }));
  const options = { columns: entry.columns, zone: entry.zone };
  try {
    const outcome = await engine.open(inputs, options, (progress) => noteProgress(id, progress), {
      signal: stopping.signal,
    });
    const lastsMs = performance.now() - startedAtMs;
    if (stopping.signal.aborted) throw new Cancelled();
    if (!outcome.ok) return patch(id, { phase: 'failed', problems: outcome.problems, lastsMs });
    const other = accept(id, outcome.value, entry);
    if (other) return patch(id, { phase: 'failed', problems: [other], lastsMs });
    patch(id, {
      phase: 'ready',
      summary: outcome.value,
      problems: outcome.warnings,
      lastsMs,
      revision: before.revision + 1,
    });
  } catch (error) {
    const stopped = stopping.signal.aborted || error instanceof Cancelled;
    const words = error instanceof Error ? error.message : String(error);
    patch(
      id,
      stopped ? { phase: 'stopped' } : { phase: 'failed', problems: [{ code: 'reading-broke', message: words }] },
    );
  }
}

/** Pictures follow reading a few times a second; more often would take time from reading and nobody could see it. */
const PROGRESS_EVERY_MS = 250;
const latest = new Map<string, ReadingProgress>();

function noteProgress(id: string, progress: ReadingProgress): void {
  const before = findOpen(id)?.progress;
  if (before && before.streams.length > 0) {
    if (!latest.has(id)) setTimeout(() => applyLatest(id), PROGRESS_EVERY_MS);
    latest.set(id, progress);
  } else applyProgress(id, progress);
}

function applyLatest(id: string): void {
  const progress = latest.get(id);
  latest.delete(id);
  if (progress) applyProgress(id, progress);
}

function applyProgress(id: string, progress: ReadingProgress): void {
  const capture = findOpen(id);
  if (!capture || capture.phase !== 'reading') return;
  const lastsMs = performance.now() - capture.startedAtMs;
  const firstIdentifierMs = capture.firstIdentifierMs ?? (progress.streams.length ? lastsMs : null);
  const step = { reachedS: progress.reachedS, counts: progress.streams.map(({ count }) => count) };
  useCaptures.getState().patch(id, { progress, lastsMs, firstIdentifierMs, steps: [...capture.steps, step] });
}

/** Notes the digests. A file that was handed over again must be the one the dossier speaks of: else what is wrong. */
function accept(id: string, summary: CaptureSummary, entry: DossierCapture): Problem | null {
  const other = summary.files.find(
    ({ sha256 }, place) => entry.files[place]?.sha256 && entry.files[place]?.sha256 !== sha256,
  );
  if (other)
    return {
      code: 'other-file',
      message: `this is not the file that the dossier was made from: its digest differs, though name and size agree`,
      advice: 'Choose the original, or add this one as a capture of its own.',
      place: { file: other.name },
    };
  const files = summary.files.map(({ name, bytes, sha256 }, place) => ({ ...entry.files[place], name, bytes, sha256 }));
  if (JSON.stringify(files) !== JSON.stringify(entry.files))
    useDossier.getState().note((dossier) => withCapture(dossier, id, (capture) => ({ ...capture, files })));
  return null;
}

/** Files that are in use, by name and size, where the browser's storage has no room or has not been asked yet. */
const held = new Map<string, OpenFile>();
export function holdFile(file: OpenFile): void {
  held.set(fileKey(file.name, file.blob.size), file);
}

export const heldFile = (name: string, size: number): OpenFile | undefined => held.get(fileKey(name, size));

async function keepAll(id: string, files: readonly OpenFile[]): Promise<void> {
  files.forEach(holdFile);
  // Asked once there is something to lose: else a browser short of room may drop what it keeps here.
  void navigator.storage?.persist?.().catch(() => false);
  const kept = await Promise.all(files.map(({ name, blob }) => keepFile({ name, blob })));
  if (kept.includes(false)) useCaptures.getState().patch(id, { kept: false });
}

/** Names and sizes, as one text to compare. */
export const describe = (files: readonly { readonly name: string; readonly bytes: number }[]): string =>
  files.map(({ name, bytes }) => fileKey(name, bytes)).join('\n');

const withoutEnding = (name: string): string =>
  name.replace(/\.(gz|log|txt|csv|asc|pcap|pcapng|dat)$/i, '').replace(/\.(log|txt|csv)$/i, '');
const ROLES = ['main', 'second drive', 'third drive'];

/** Several files make one capture; its title is the first file's name until renamed. Returns the id. */
export function openFiles(files: readonly OpenFile[], title?: string, role?: string): string {
  const { dossier, change } = useDossier.getState();
  const id = freeCaptureId(dossier);
  const entry = newCapture(
    id,
    title ?? withoutEnding(files[0]?.name ?? 'capture'),
    role ?? ROLES[dossier.captures.length] ?? 'other',
  );
  const described = files.map(({ name, blob, bus }) => ({
    name,
    bytes: blob.size,
    sha256: '',
    ...(bus ? { bus } : {}),
  }));
  change('add capture', (old) => ({ ...old, captures: [...old.captures, { ...entry, files: described }] }));
  useCaptures.getState().put({ ...blankCapture(id, 'waiting'), files, described: describe(described) });
  useView.getState().openCapture(id);
  void keepAll(id, files);
  read(id);
  return id;
}

/** More files of the same recording: read together, in time order. */
export function addFiles(id: string, files: readonly OpenFile[]): void {
  const capture = findOpen(id);
  if (!capture) return;
  const all = [...capture.files, ...files];
  const described = files.map(({ name, blob }) => ({ name, bytes: blob.size, sha256: '' }));
  useDossier
    .getState()
    .change('add files', (old) =>
      withCapture(old, id, (entry) => ({ ...entry, files: [...entry.files, ...described] })),
    );
  const bytesOf = all.map(({ name, blob }) => ({ name, bytes: blob.size }));
  useCaptures.getState().patch(id, { files: all, described: describe(bytesOf) });
  void keepAll(id, all);
  useView.getState().openCapture(id);
  read(id);
}

/** Files handed over again for a capture that the dossier knows and this browser does not have. */
export function restoreFiles(id: string, files: readonly OpenFile[]): void {
  const { put } = useCaptures.getState();
  put({ ...(findOpen(id) ?? blankCapture(id, 'waiting')), files });
  void keepAll(id, files);
  read(id);
}

/** Reads with other columns or another zone. */
export function readAgain(
  id: string,
  options: { readonly columns?: Record<string, string>; readonly zone?: string },
): void {
  useDossier.getState().change('choose columns', (old) => withCapture(old, id, (entry) => ({ ...entry, ...options })));
  read(id);
}

/** The bus of a file that names none; the capture is read again with it. */
export function setBus(id: string, place: number, bus: string): void {
  const named = bus.trim() || undefined;
  const open = findOpen(id);
  if (!open || open.files[place]?.bus === named) return;
  useDossier.getState().change('name bus', (old) =>
    withCapture(old, id, (entry) => ({
      ...entry,
      files: entry.files.map((file, i) => (i === place ? { ...file, bus: named } : file)),
    })),
  );
  useCaptures
    .getState()
    .patch(id, { files: open.files.map((file, i) => (i === place ? { ...file, bus: named } : file)) });
  read(id);
}

export function stopReading(id: string): void {
  stops.get(id)?.abort();
  const { patch } = useCaptures.getState();
  const phase = findOpen(id)?.phase;
  if (phase === 'reading' || phase === 'waiting') patch(id, { phase: 'stopped' });
}
export const resumeReading = (id: string): void => read(id);

export function removeCapture(id: string): void {
  stops.get(id)?.abort();
  useDossier
    .getState()
    .change('remove capture', (old) => ({ ...old, captures: old.captures.filter((entry) => entry.id !== id) }));
}

/** The columns of a file, whose role in the job the person names. */
export const setRole = (id: string, role: string): void =>
  useDossier
    .getState()
    .change('set role', (old) => withCapture(old, id, (entry) => ({ ...entry, role })), `role-${id}`);
export const setTitle = (id: string, title: string): void =>
  useDossier
    .getState()
    .change('rename capture', (old) => withCapture(old, id, (entry) => ({ ...entry, title })), `title-${id}`);
