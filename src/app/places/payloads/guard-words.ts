/** Which covered bits never moved in the capture: their part in the rule is not shown by it. In words, whole bytes and runs of bits together. */
import type { MapChecksum } from '../../../map/schema.ts';

type Covers = NonNullable<MapChecksum['covers']>;

/** Bits of one byte, from the highest: "bit 3", "bits 7–4". */
function bitRuns(bits: number): string[] {
  const runs: string[] = [];
  for (let top = 7; top >= 0; top--) {
    if (!((bits >> top) & 1)) continue;
    let low = top;
    while (low > 0 && (bits >> (low - 1)) & 1) low--;
    runs.push(top === low ? `bit ${top}` : `bits ${top}–${low}`);
    top = low;
  }
  return runs;
}

const listed = (parts: readonly string[]): string =>
  parts.length < 2 ? (parts[0] ?? '') : `${parts.slice(0, -1).join(', ')} and ${parts.at(-1)}`;

/** Neighbouring numbers together: "1, 4–6". */
function runsOf(bytes: readonly number[]): string {
  const runs: [number, number][] = [];
  for (const byte of bytes) {
    const last = runs.at(-1);
    if (last && last[1] + 1 === byte) last[1] = byte;
    else runs.push([byte, byte]);
  }
  return listed(runs.map(([from, to]) => (from === to ? `${from}` : `${from}–${to}`)));
}

/**
 * "byte 6 and bits 7–4 of byte 4"; empty where every covered bit moved.
 * @param changeShare [bytes * 8] share of frames between which the bit changes
 * @param own bits that hold the checksum: they count as zero
 */
export function stillWords(covers: Covers, changeShare: readonly number[], own: ReadonlySet<number>): string {
  const whole: number[] = [];
  const parts: string[] = [];
  for (const entry of covers) {
    const { byte, mask } = typeof entry === 'number' ? { byte: entry, mask: 0xff } : entry;
    let covered = 0;
    let still = 0;
    for (let bit = 0; bit < 8; bit++) {
      const at = byte * 8 + bit;
      if (own.has(at) || !((Number(mask) >> bit) & 1)) continue;
      covered |= 1 << bit;
      if (changeShare[at] === 0) still |= 1 << bit;
    }
    if (still === 0) continue;
    if (still === covered) whole.push(byte);
    else parts.push(`${bitRuns(still).join(', ')} of byte ${byte}`);
  }
  const bytes = whole.sort((a, b) => a - b);
  const words = bytes.length > 0 ? [`${bytes.length === 1 ? 'byte' : 'bytes'} ${runsOf(bytes)}`] : [];
  return listed([...words, ...parts]);
}
