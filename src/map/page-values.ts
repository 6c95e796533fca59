/** The values of a guard or selector over a whole stream: those of the frames in which it is present, with their rows and stamps. */
import { lengthAt, type Stream } from '../frames/table.ts';
import type { CompiledGuard } from './decode.ts';

export interface PageValues {
  readonly rows: Uint32Array;
  readonly raws: Float64Array;
  readonly timeUs: Float64Array;
}

/** Raw values of a field in the frames in which it is present. */
export function valuesOnPage(guard: CompiledGuard<unknown>, stream: Stream): PageValues {
  const rows = new Uint32Array(stream.count);
  const raws = new Float64Array(stream.count);
  let n = 0;
  for (let row = 0; row < stream.count; row++) {
    const offset = row * stream.stride;
    if (!guard.present(stream.payload, offset, lengthAt(stream, row))) continue;
    rows[n] = row;
    raws[n++] = Number(guard.raw(stream.payload, offset));
  }
  const kept = rows.subarray(0, n);
  return {
    rows: kept,
    raws: raws.subarray(0, n),
    timeUs: Float64Array.from(kept, (row) => stream.timeUs[row] as number),
  };
}
