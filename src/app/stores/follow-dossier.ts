/** Keeps the open captures those of the dossier: what enters it is opened from the files kept here, what leaves it is closed. */
import type { DossierCapture } from '../../jobs/dossier.ts';
import { blankCapture, findOpen, useCaptures, type OpenCapture, type OpenFile } from './captures.ts';
import { useDossier } from './dossier.ts';
import { describe, heldFile, read, stopReading } from './reading.ts';
import { fileKey, forgetFilesExcept, keptFile } from './storage.ts';
import { useView } from './view.ts';

/** Captures that entered the dossier (by opening one, by undo) are opened; those that left it, or changed files, are closed. */
async function follow(entries: readonly DossierCapture[]): Promise<void> {
  const { open, put, drop } = useCaptures.getState();
  const stays = (old: OpenCapture): boolean =>
    entries.some((entry) => entry.id === old.id && describe(entry.files) === old.described);
  for (const gone of open.filter((old) => !stays(old))) {
    stopReading(gone.id);
    await gone.engine?.close();
    drop(gone.id);
  }
  for (const entry of entries) if (!findOpen(entry.id)) await reopen(entry, put);
  const view = useView.getState();
  if (!entries.some(({ id }) => id === view.captureId)) view.openCapture(entries[0]?.id ?? null);
  if (view.against !== null && !entries.some(({ id }) => id === view.against)) view.holdAgainst(null);
}

async function findFile(name: string, size: number): Promise<OpenFile | undefined> {
  return heldFile(name, size) ?? (await keptFile(name, size).catch(() => undefined));
}

async function reopen(entry: DossierCapture, put: (capture: OpenCapture) => void): Promise<void> {
  const described = describe(entry.files);
  put({ ...blankCapture(entry.id, entry.files.length ? 'waiting' : 'unrecorded'), described });
  if (!entry.files.length) return;
  const found = await Promise.all(entry.files.map(({ name, bytes }) => findFile(name, bytes)));
  const files = found.flatMap((file, place) =>
    file ? [{ name: file.name, blob: file.blob, bus: entry.files[place]?.bus }] : [],
  );
  const complete = files.length === entry.files.length;
  useCaptures.getState().patch(entry.id, complete ? { files } : { phase: 'missing' });
  if (complete) read(entry.id);
}

/** Keeps the open captures those of the dossier, from now on. */
export async function followDossier(): Promise<void> {
  let running = follow(useDossier.getState().dossier.captures);
  let seen = useDossier.getState().dossier.captures;
  useDossier.subscribe(({ dossier }) => {
    if (dossier.captures === seen) return;
    seen = dossier.captures;
    running = running.then(() => follow(useDossier.getState().dossier.captures));
  });
  await running;
  void forgetFilesExcept(remembered());
}

/** The files of every capture that undo could bring back. */
function remembered(): ReadonlySet<string> {
  const { dossier, past, future } = useDossier.getState();
  const all = [dossier, ...past.map(({ before }) => before), ...future.map(({ before }) => before)];
  const files = all.flatMap(({ captures }) => captures.flatMap((capture) => capture.files));
  return new Set(files.map(({ name, bytes }) => fileKey(name, bytes)));
}
