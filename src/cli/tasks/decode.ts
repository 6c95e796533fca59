/** Decodes a capture by a map into a file, written beside its place and moved there when whole. */
import { renameSync, rmSync } from 'node:fs';
import { part } from '../../kit/control.ts';
import { decodeCapture, type DecodeOptions, type DecodeSummary } from '../../handover/decode-capture.ts';
import { parseMap } from '../../map/parse.ts';
import { openForWriting } from '../files.ts';
import { openCapture, parseFile, valueOf, type CaptureRequest, type TaskContext } from './context.ts';

export interface DecodeRequest extends CaptureRequest {
  readonly map: string;
  readonly output: string;
  readonly decode: DecodeOptions;
}

export async function decodeTask(request: DecodeRequest, context: TaskContext): Promise<DecodeSummary> {
  const map = await parseFile(request.map, parseMap, context);
  const table = await openCapture(request, context, part(context.control, 0, 0.5));
  const half = `${request.output}.half.tmp`;
  const file = openForWriting(half);
  try {
    const summary = valueOf(
      await decodeCapture(table, map, request.decode, file, part(context.control, 0.5, 1)),
      context,
    );
    file.close();
    renameSync(half, request.output);
    return summary;
  } catch (error) {
    rmSync(half, { force: true });
    throw error;
  }
}
