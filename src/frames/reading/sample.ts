/** Takes the sample that readers judge by: the head of the file, and for plain files spots deeper in it. */
import type { ByteSource } from '../source.ts';
import { LineCutter, textOf } from './lines.ts';
import type { Sample } from './reader.ts';
import { asUtf8, type Encoding, encodingOf } from './utf16.ts';

export const HEAD_BYTES = 192 << 10;
const HEAD_LINES = 2000;
const SPOT_BYTES = 32 << 10;
const SPOTS = [0.2, 0.4, 0.6, 0.8, 0.97];

export async function takeSample(
  source: ByteSource,
  head: Uint8Array,
  isWhole: boolean,
  isPacked: boolean,
): Promise<{ sample: Sample; encoding: Encoding }> {
  const encoding = encodingOf(head);
  const lines = linesIn(head, encoding, isWhole).slice(0, HEAD_LINES);
  const deepLines: string[] = [];
  if (!isPacked && !isWhole) {
    for (const spot of SPOTS) {
      const start = Math.floor(source.size * spot) & ~1;
      if (start < head.length) continue;
      // The first and the last line of a spot are cut somewhere.
      deepLines.push(...linesIn(await source.slice(start, start + SPOT_BYTES), encoding, false).slice(1));
    }
  }
  return { sample: { name: source.name, head, lines, deepLines }, encoding };
}

/** Whole lines of a piece of text; the last one only where the text ends there. */
function linesIn(bytes: Uint8Array, encoding: Encoding, isWhole: boolean): string[] {
  const lines: string[] = [];
  const cutter = new LineCutter((line, from, to) => lines.push(textOf(line, from, to)));
  const consumer = asUtf8({ push: (piece) => cutter.push(piece), finish: () => cutter.finish() }, encoding);
  consumer.push(bytes);
  const whole = lines.length;
  consumer.finish();
  return isWhole || whole === 0 ? lines : lines.slice(0, Math.max(1, Math.min(whole, lines.length)));
}
