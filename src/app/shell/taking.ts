/** What becomes of files that a person hands over: a dossier is opened, a missing capture file goes to its place, marks go to the open capture, the rest is read as a capture. */
import type { DossierCapture } from '../../jobs/dossier.ts';
import { findOpen, useCaptures, type OpenFile } from '../stores/captures.ts';
import { useDossier } from '../stores/dossier.ts';
import { addFiles, openFiles, restoreFiles } from '../stores/reading.ts';
import { useView } from '../stores/view.ts';
import { parseDossier } from './DossierDialog.tsx';
import { say } from './notices.ts';

/** `captureId`: add to this capture; null: a capture of its own. */
export async function takeFiles(files: readonly File[], captureId: string | null): Promise<void> {
  if (!files.length) return;
  const [only] = files;
  if (files.length === 1 && only && (await looksLikeDossier(only))) return takeDossier(only);
  const open = files.map((file): OpenFile => ({ name: file.name, blob: file }));
  useView.getState().go('captures');
  const missing = captureId === null ? findMissing(open) : undefined;
  if (missing) return restoreFiles(missing.id, missing.files);
  const phase = findOpen(captureId)?.phase;
  if (captureId !== null && (phase === 'missing' || phase === 'unrecorded')) return takeFor(captureId, open);
  if (captureId !== null) addFiles(captureId, open);
  else openFiles(open);
}

/** The recording of marks that were taken before it, or the files a dossier lacks. */
function takeFor(id: string, files: readonly OpenFile[]): void {
  if (findOpen(id)?.phase === 'unrecorded') addFiles(id, files);
  else restoreFiles(id, files);
}

async function looksLikeDossier(file: File): Promise<boolean> {
  if (!file.name.endsWith('.json')) return false;
  return (await file.slice(0, 200).text()).includes('loomscribe.dossier');
}

async function takeDossier(file: File): Promise<void> {
  const parsed = parseDossier(file.name, await file.text());
  if ('problem' in parsed) say(parsed.problem);
  else useDossier.getState().open(parsed.dossier, 'open dossier');
}

/** A capture whose files are missing here and which these files fill, by name and size. The digest is checked once they are read. */
function findMissing(files: readonly OpenFile[]): { id: string; files: OpenFile[] } | undefined {
  const { dossier } = useDossier.getState();
  const isMissing = ({ id }: DossierCapture): boolean =>
    useCaptures.getState().open.some((open) => open.id === id && open.phase === 'missing');
  for (const entry of dossier.captures.filter(isMissing)) {
    const matched = entry.files.map((wanted) =>
      files.find(({ name, blob }) => blob.size === wanted.bytes && (name === wanted.name || files.length === 1)),
    );
    if (matched.every((file) => file !== undefined)) return { id: entry.id, files: matched };
  }
  return undefined;
}
