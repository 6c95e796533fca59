/** The job `publish`: numbers of the vehicle and its modules in a capture and its map, and, where asked for, a copy without them. */
import { copyFiles, firstUnclean } from '../../handover/publish/files.ts';
import { publishingCopy, type CopyRequest } from '../../handover/publish/copy.ts';
import { findNumbers } from '../../handover/publish/find.ts';
import type { BlankedList } from '../../handover/publish/list.ts';
import { writeLog, type LogFormat } from '../../handover/publish/log.ts';
import type { Search } from '../../handover/publish/types.ts';
import type { HandoverFile } from '../../handover/handover-files.ts';
import type { FrameTable } from '../../frames/table.ts';
import { part, type Control } from '../../kit/control.ts';
import type { Problem } from '../../kit/outcome.ts';
import type { SignalMap } from '../../map/schema.ts';
import type { AnalysisJob } from './job.ts';
import { onlyAnswer } from './whole.ts';

export interface PublishRequest extends CopyRequest {
  readonly job: 'publish';
  readonly map: SignalMap;
  /** null: only find. A log as lines or packets goes with the map, report and list. */
  readonly copy: { readonly log: LogFormat } | null;
}

export interface PublishAnswer {
  readonly search: Search;
  /** Null where none was asked for, or `problems` say why there is none. */
  readonly copy: {
    readonly map: SignalMap;
    readonly list: BlankedList;
    readonly files: readonly HandoverFile[];
  } | null;
  readonly problems: readonly Problem[];
}

/** The log as one file in memory, for a page to save. */
async function logFile(
  table: FrameTable,
  format: LogFormat,
  hidesTimes: boolean,
  control: Control,
): Promise<HandoverFile> {
  const pieces: Uint8Array[] = [];
  await writeLog(table, { format, hidesTimes }, { write: (bytes) => void pieces.push(bytes) }, control);
  const bytes = new Uint8Array(pieces.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const piece of pieces) {
    bytes.set(piece, at);
    at += piece.length;
  }
  return { name: `capture.${format}`, bytes, mime: format === 'log' ? 'text/plain' : 'application/octet-stream' };
}

async function run(request: PublishRequest, table: FrameTable, control: Control): Promise<PublishAnswer> {
  if (!request.copy) {
    const search = await findNumbers(table, request.map, request, control);
    return { search, copy: null, problems: [] };
  }
  const made = await publishingCopy(table, request.map, request, part(control, 0, 0.8));
  if (!made.ok) return { search: { finds: [], tried: 0, triedDigits: 0 }, copy: null, problems: made.problems };
  const { search, map, list, table: blanked } = made.value;
  const texts = copyFiles(made.value);
  const unclean = firstUnclean(made.value, texts);
  if (unclean !== null) {
    const message = `${unclean} would still hold a number; nothing is written.`;
    return { search, copy: null, problems: [{ code: 'still-there', message }] };
  }
  const log = await logFile(blanked, request.copy.log, request.hidesTimes, part(control, 0.8, 1));
  return { search, copy: { map, list, files: [...texts, log] }, problems: [] };
}

export const publishJob: AnalysisJob<PublishRequest, PublishAnswer> = {
  name: 'publish',
  version: 1,
  parts: (request, table) => [{ request, streams: table.streams }],
  run,
  join: onlyAnswer,
};
