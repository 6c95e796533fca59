/** Searching for numbers, and making the copy: asked of the open capture's engine itself, past the kept findings, which are written to storage. */
import { zipSync } from 'fflate';
import type { PublishAnswer, PublishRequest } from '../../../../jobs/analyses/publish.ts';
import type { Dossier } from '../../../../jobs/dossier.ts';
import type { Engine } from '../../../../jobs/engine-types.ts';
import { Cancelled } from '../../../../kit/control.ts';
import { describeProblem } from '../../../../kit/outcome.ts';
import { bytes, count } from '../../../../kit/sheet-figures.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { useCaptures } from '../../../stores/captures.ts';
import { useDossier } from '../../../stores/dossier.ts';
import { useView } from '../../../stores/view.ts';
import { fileStem, saveAs } from '../../../shell/files.ts';
import { say } from '../../../shell/notices.ts';
import { stillFound } from './finds.ts';
import { usePublish, type Searched } from './store.ts';

/** Whatever else is published beside the frames and may hold a number: names of files, notes of marks, names of readings. */
export function textsOf({ captures }: Dossier, captureId: string): readonly string[] {
  const own = captures.find(({ id }) => id === captureId);
  if (!own) return [];
  return [
    own.title,
    own.role,
    ...own.files.map(({ name }) => name),
    ...own.marks.flatMap(({ action, note, value }) => [action, note ?? '', value ?? '']),
    ...own.references.map(({ name }) => name),
  ].filter((text) => text !== '');
}

interface OpenOne {
  readonly engine: Engine;
  readonly digest: string;
  readonly texts: readonly string[];
}

function openOne(): OpenOne | null {
  const { captureId } = useView.getState();
  const open = useCaptures.getState().open.find(({ id }) => id === captureId);
  if (!captureId || open?.phase !== 'ready' || !open.engine || !open.summary) return null;
  return { engine: open.engine, digest: open.summary.digest, texts: textsOf(useDossier.getState().dossier, captureId) };
}

const isOf = (searched: Searched | null, map: SignalMap, digest: string, typed: readonly string[]): boolean =>
  searched?.map === map && searched.digest === digest && searched.typed === typed;

/** Whether what was found is of the map, capture and typed numbers as they stand. */
export function isUpToDate(map: SignalMap, digest: string | undefined): boolean {
  const { searched, typed } = usePublish.getState();
  return digest !== undefined && isOf(searched, map, digest, typed);
}

async function ask(
  what: 'search' | 'copy',
  { engine }: OpenOne,
  request: PublishRequest,
): Promise<PublishAnswer | null> {
  const { running, set } = usePublish.getState();
  running?.stop();
  const stopping = new AbortController();
  const own = { what, share: 0, stop: () => stopping.abort() };
  const isOurs = (): boolean => usePublish.getState().running?.stop === own.stop;
  set({ running: own, problem: null });
  try {
    return await engine.analyse<'publish'>(request, {
      signal: stopping.signal,
      onProgress: ({ share }) => isOurs() && set({ running: { ...own, share } }),
    });
  } catch (error) {
    const stopped = stopping.signal.aborted || error instanceof Cancelled;
    if (isOurs() && !stopped) set({ problem: error instanceof Error ? error.message : String(error) });
    return null;
  } finally {
    if (isOurs()) set({ running: null });
  }
}

function requestOf(map: SignalMap, { texts }: OpenOne, log: 'log' | 'pcapng' | null): PublishRequest {
  const { typed, keep, also, hidesTimes } = usePublish.getState();
  const refused = log === null ? { keep: [], also: [] } : { keep, also };
  return { job: 'publish', map, typed, ...refused, hidesTimes, texts, copy: log === null ? null : { log } };
}

/** Looks for numbers in the open capture and its map. */
export async function search(map: SignalMap): Promise<void> {
  const one = openOne();
  if (!one) return;
  const { typed } = usePublish.getState();
  const answer = await ask('search', one, requestOf(map, one, null));
  if (!answer) return;
  const { keep, also, set } = usePublish.getState();
  set({ answer, searched: { map, digest: one.digest, typed }, ...stillFound({ keep, also }, answer.search.finds) });
}

export const copyFileName = ({ part }: SignalMap): string =>
  `${fileStem(part.title, 'donor-part')}.publishing-copy.zip`;

const secretsOf = (answer: PublishAnswer | null): readonly string[] =>
  (answer?.search.finds ?? []).map(({ kind, secret }) => `${kind} ${secret}`);

/** Something was found that the person has not seen, or nothing had been looked for at all. */
function hasNews(seen: PublishAnswer | null, now: PublishAnswer | null): boolean {
  const known = new Set(secretsOf(seen));
  return seen === null || secretsOf(now).some((each) => !known.has(each));
}

/** Makes the copy and saves it as one file; says why where there is none. */
export async function saveCopy(map: SignalMap): Promise<void> {
  const one = openOne();
  if (!one) return say('The recording is not read yet: there is nothing to copy.');
  if (!isUpToDate(map, one.digest)) {
    const seen = usePublish.getState().answer;
    await search(map);
    const now = usePublish.getState().answer;
    if (!isUpToDate(map, one.digest)) return;
    if (hasNews(seen, now)) return say('Look at what was found first: the copy is made when you save again.');
  }
  const answer = await ask('copy', one, requestOf(map, one, usePublish.getState().log));
  if (!answer) return;
  if (!answer.copy) return usePublish.getState().set({ problem: answer.problems.map(describeProblem).join(' ') });
  const { files, list } = answer.copy;
  const name = copyFileName(answer.copy.map);
  // Stored as they are: a log of many frames takes long to pack, and the page would stand still meanwhile.
  const zipped = zipSync(Object.fromEntries(files.map((file) => [file.name, file.bytes])), { level: 0 });
  saveAs(name, zipped as Uint8Array<ArrayBuffer>, 'application/zip');
  say(
    `${name} saved, ${bytes(zipped.length)}: ${count(list.framesWritten)} frames, ${count(list.framesChanged)} of them changed, ${count(list.framesLeftOut)} left out.`,
  );
}
