/**
 * Reading a recording into its table, against a bare loop over the same bytes that only counts line ends, in the same
 * process. Read the ratios, not the times; nothing here is asserted.
 */
import { createHash } from 'node:crypto';
import { bench, describe } from 'vitest';
import { readCapture } from '../../src/frames/read-capture.ts';
import type { StreamedDigest } from '../../src/frames/reading-types.ts';
import { memorySource } from '../../src/frames/source.ts';
import { createRandom } from '../../src/kit/random.ts';

const FRAMES = 400_000;
const START_US = 1_764_081_000_000_000;

interface Row {
  readonly stamp: string;
  readonly bus: string;
  readonly id: string;
  readonly bytes: readonly string[];
}

function rowsOf(seed: string): Row[] {
  const random = createRandom(seed);
  let timeUs = START_US;
  return Array.from({ length: FRAMES }, (_each, place) => {
    timeUs += 100 + random.below(400);
    const number = random.below(60);
    const isExtended = number % 10 === 9;
    const id = (isExtended ? 0x18ff0000 + number * 256 : 0x100 + number * 17).toString(16).toUpperCase();
    const length = random.below(8) === 0 ? 4 : 8;
    return {
      stamp: `${Math.floor(timeUs / 1e6)}.${String(timeUs % 1e6).padStart(6, '0')}`,
      bus: `can${place & 1}`,
      id: id.padStart(isExtended ? 8 : 3, '0'),
      bytes: Array.from({ length }, () => random.below(256).toString(16).toUpperCase().padStart(2, '0')),
    };
  });
}

const rows = rowsOf('bench');
const bytesOf = (line: (row: Row) => string): Uint8Array =>
  new TextEncoder().encode(rows.map((row) => line(row) + '\n').join(''));
const SHAPES = {
  'log lines': bytesOf(({ stamp, bus, id, bytes }) => `(${stamp}) ${bus} ${id}#${bytes.join('')}`),
  'screen lines': bytesOf(
    ({ stamp, bus, id, bytes }) => ` (${stamp})  ${bus}  ${id}   [${bytes.length}]  ${bytes.join(' ')}`,
  ),
  'comma-separated, payload in one cell': bytesOf(
    ({ stamp, bus, id, bytes }) => `${stamp},${bus},${id},${bytes.length},${bytes.join('')}`,
  ),
  'comma-separated, a byte a column': bytesOf(
    ({ stamp, bus, id, bytes }) => `${stamp},${bus},${id},${bytes.length},${bytes.join(',')}`,
  ),
};

function platformDigest(): StreamedDigest {
  const hash = createHash('sha256');
  return { update: (bytes) => hash.update(bytes), hex: () => hash.digest('hex') };
}

async function read(bytes: Uint8Array): Promise<void> {
  const outcome = await readCapture([{ source: memorySource('drive', bytes) }], { createDigest: platformDigest }, {});
  if (!outcome.ok || outcome.value.frameCount !== FRAMES) throw new Error('not every frame was read');
}

function countLineEnds(bytes: Uint8Array): number {
  let lines = 0;
  for (let at = 0; at < bytes.length; at++) if (bytes[at] === 10) lines++;
  return lines;
}

describe.each(Object.entries(SHAPES))('%s, 400,000 frames', (_shape, bytes) => {
  bench('baseline: count line ends', () => {
    if (countLineEnds(bytes) !== FRAMES) throw new Error('a line is missing');
  });
  bench('read into a table', () => read(bytes));
});
