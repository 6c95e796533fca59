/** Holds a map against a capture. */
import { part } from '../../kit/control.ts';
import { parseMap } from '../../map/parse.ts';
import { proveMap } from '../../proof/hold/prove-map.ts';
import type { ProofReport } from '../../proof/hold/types.ts';
import { openCapture, parseFile, type CaptureRequest, type TaskContext } from './context.ts';

export interface ProveRequest extends CaptureRequest {
  readonly map: string;
  readonly busMap: Readonly<Record<string, string>>;
}

export async function proveTask(request: ProveRequest, context: TaskContext): Promise<ProofReport> {
  const map = await parseFile(request.map, parseMap, context);
  const table = await openCapture(request, context, part(context.control, 0, 0.5));
  const fileDigests = table.files.map((file) => file.sha256);
  const { busMap } = request;
  const report = await proveMap({ table, map, busMap, fileDigests }, part(context.control, 0.5, 1));
  report.warnings.forEach((warning) => context.warn(warning));
  return report;
}
