/** Holds a map against a capture, and writes what that proved. */
import type { FrameTable } from '../../frames/table.ts';
import { part } from '../../kit/control.ts';
import { parseMap } from '../../map/parse.ts';
import { printMap } from '../../map/print.ts';
import type { SignalMap } from '../../map/schema.ts';
import { proveMap } from '../../proof/hold/prove-map.ts';
import { withProof, type ProvenMap } from '../../proof/hold/proven-map.ts';
import type { ProofReport } from '../../proof/hold/types.ts';
import { CannotDo } from '../arguments.ts';
import { openCapture, parseFile, type CaptureRequest, type TaskContext } from './context.ts';

export interface ProveRequest extends CaptureRequest {
  readonly map: string;
  readonly busMap: Readonly<Record<string, string>>;
  /** Whether the map is wanted back with what was proven. */
  readonly wantsMap: boolean;
  /** What the capture is called in the map. */
  readonly title: string;
}

export interface ProveAnswer {
  readonly report: ProofReport;
  readonly written: (Omit<ProvenMap, 'map'> & { readonly text: string }) | null;
}

const SAME_CAPTURE =
  'The map was made from this very recording: nothing is proven by it, and no map is written. Record another power cycle or drive.';

function written(map: SignalMap, report: ProofReport, table: FrameTable, title: string): ProveAnswer['written'] {
  const proved = withProof(map, report, { title, files: table.files });
  if (!proved) throw new CannotDo(SAME_CAPTURE);
  const { map: whole, ...counts } = proved;
  return { text: printMap(whole), ...counts };
}

export async function proveTask(request: ProveRequest, context: TaskContext): Promise<ProveAnswer> {
  const map = await parseFile(request.map, parseMap, context);
  const table = await openCapture(request, context, part(context.control, 0, 0.5));
  const fileDigests = table.files.map((file) => file.sha256);
  const { busMap } = request;
  const report = await proveMap({ table, map, busMap, fileDigests }, part(context.control, 0.5, 1));
  report.warnings.forEach((warning) => context.warn(warning));
  return { report, written: request.wantsMap ? written(map, report, table, request.title) : null };
}
