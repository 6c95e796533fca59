/** Where a field lies, as sentences and the page say it; the map's own names are made by `placeName` of `describe.ts`. */
import { bitPositions, type Placement } from '../frames/bits.ts';

/** "b4", "b0–1" for whole bytes; "b3.7" one bit; "b6.5–4" within a byte; "b2.0–b3.3" otherwise, lower byte first. */
export function placeWords(placement: Placement): string {
  const bits = bitPositions(placement);
  const bytes = bits.map((bit) => bit >> 3);
  const first = Math.min(...bytes);
  const last = Math.max(...bytes);
  if (bits.length === 8 * (last - first + 1)) return first === last ? `b${first}` : `b${first}–${last}`;
  if (bits.length === 1) return `b${first}.${(bits[0] as number) & 7}`;
  if (first === last) {
    const within = bits.map((bit) => bit & 7);
    return `b${first}.${Math.max(...within)}–${Math.min(...within)}`;
  }
  const ends = [bits[0] as number, bits.at(-1) as number].sort((a, b) => a - b);
  return ends.map((end) => `b${end >> 3}.${end & 7}`).join('–');
}
