/** A frame table from log lines written in a test. */
import { readCapture } from '../../src/frames/read-capture.ts';
import { memorySource } from '../../src/frames/source.ts';
import type { FrameTable } from '../../src/frames/table.ts';

/** lines: [seconds, identifier, payload in hex with spaces]; eight digits make the identifier a 29-bit one, more than eight bytes a frame FD. */
export type LogLine = readonly [atS: number, id: string, payload: string];

export async function tableOfLines(lines: readonly LogLine[]): Promise<FrameTable> {
  const text = lines.map(([atS, id, payload]) => {
    const bytes = payload.replaceAll(' ', '');
    return `(${(1764064800 + atS).toFixed(6)}) can0 ${id}${bytes.length > 16 ? '##1' : '#'}${bytes}`;
  });
  const outcome = await readCapture(
    [{ source: memorySource('bench.log', new TextEncoder().encode(text.join('\n'))) }],
    {},
    {},
  );
  if (!outcome.ok) throw new Error(outcome.problems[0].message);
  return outcome.value;
}
