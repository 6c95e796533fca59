/** Writes a publishing copy: each capture file beside the map, report and list; the log is read again and searched before it gets its name. */
import { renameSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { copyFiles, firstUnclean } from '../../handover/publish/files.ts';
import { publishingCopy, type CopyRequest, type PublishingCopy } from '../../handover/publish/copy.ts';
import { findNumbers } from '../../handover/publish/find.ts';
import { listedFind, type BlankedList, type ListedFind } from '../../handover/publish/list.ts';
import { writeLog, type LogFormat } from '../../handover/publish/log.ts';
import type { FrameTable } from '../../frames/table.ts';
import { part, type Control } from '../../kit/control.ts';
import { parseMap } from '../../map/parse.ts';
import { CannotDo } from '../arguments.ts';
import { openForWriting, readText, writeWhole } from '../files.ts';
import { openCapture, parseFile, valueOf, type CaptureRequest, type TaskContext } from './context.ts';

export interface PublishRequest extends CaptureRequest, Omit<CopyRequest, 'texts'> {
  readonly map: string;
  readonly folder: string;
  readonly format: LogFormat;
  /** Text files that are published with it: marks, references, notes. */
  readonly beside: readonly string[];
  /** Only say what would be blanked. */
  readonly dry: boolean;
}

export interface PublishAnswer {
  /** What was found, whatever becomes of it. */
  readonly finds: readonly ListedFind[];
  /** Null where nothing was written. */
  readonly list: BlankedList | null;
  readonly files: readonly string[];
}

const SURE_MESSAGE = 'would still hold one of the numbers; nothing is written.';

/** The log as it lies on disk, read by the usual readers and searched: what the writer did is judged, not what it was given. */
async function checkLog(path: string, copy: PublishingCopy, context: TaskContext, control: Control): Promise<void> {
  const table: FrameTable = await openCapture({ files: [{ path }], read: {} }, context, control);
  if (table.frameCount !== copy.table.frameCount)
    throw new CannotDo(
      `the log reads back as ${table.frameCount} frames of ${copy.table.frameCount}; nothing is written.`,
    );
  const secrets = copy.search.finds.map(({ secret }) => secret).filter((secret) => secret !== '');
  const kept = new Set(copy.list.kept.map(({ key }) => key));
  const wanted = copy.search.finds.filter(({ key, usual }) => usual && !kept.has(key)).map(({ secret }) => secret);
  const { finds } = await findNumbers(table, copy.map, { typed: wanted.filter((secret) => secrets.includes(secret)) });
  if (finds.some(({ kind, occurrences }) => kind === 'typed' && occurrences.length > 0))
    throw new CannotDo(`the log ${SURE_MESSAGE}`);
}

interface Beside {
  readonly name: string;
  readonly text: string;
}

async function besideFiles(paths: readonly string[]): Promise<readonly Beside[]> {
  return Promise.all(
    paths.map(async (path) => ({ name: path.split(/[\\/]/).at(-1) ?? path, text: await readText(path) })),
  );
}

async function writeCopy(
  request: PublishRequest,
  copy: PublishingCopy,
  beside: readonly Beside[],
  context: TaskContext,
): Promise<string[]> {
  const { folder, format, hidesTimes } = request;
  const files = copyFiles(copy);
  const unclean = firstUnclean(copy, files);
  if (unclean !== null) throw new CannotDo(`${unclean} ${SURE_MESSAGE}`);
  const half = join(folder, `.capture.half.${format}`);
  const sink = openForWriting(half);
  try {
    await writeLog(copy.table, { format, hidesTimes }, sink, part(context.control, 0.8, 0.9));
    sink.close();
    await checkLog(half, copy, context, part(context.control, 0.9, 1));
    const log = join(folder, `capture.${format}`);
    renameSync(half, log);
    for (const { name, bytes } of files) await writeWhole(join(folder, name), bytes);
    const others = beside.map(({ name, text }) => ({
      name: copy.blankText(name).text,
      text: copy.blankText(text).text,
    }));
    for (const { name, text } of others) await writeWhole(join(folder, name), text);
    return [log, ...[...files, ...others].map(({ name }) => join(folder, name))];
  } catch (error) {
    rmSync(half, { force: true });
    throw error;
  }
}

export async function publishTask(request: PublishRequest, context: TaskContext): Promise<PublishAnswer> {
  const map = await parseFile(request.map, parseMap, context);
  const table = await openCapture(request, context, part(context.control, 0, 0.2));
  const beside = await besideFiles(request.beside);
  const texts = [...table.files.map(({ name }) => name), ...beside.flatMap(({ name, text }) => [name, text])];
  if (request.dry) {
    const { finds } = await findNumbers(table, map, { typed: request.typed, texts }, part(context.control, 0.2, 1));
    return { finds: finds.map(listedFind), list: null, files: [] };
  }
  const copy = valueOf(
    await publishingCopy(table, map, { ...request, texts }, part(context.control, 0.2, 0.8)),
    context,
  );
  const files = await writeCopy(request, copy, beside, context);
  return { finds: copy.search.finds.map(listedFind), list: copy.list, files };
}
