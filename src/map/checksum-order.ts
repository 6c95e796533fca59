/**
 * In which order the checksums of a frame must be computed: one that covers another's bits comes after it.
 */
import { bitPositions } from '../frames/bits.ts';
import { coveredBytes } from './checksum-message.ts';
import type { MapChecksum } from './schema.ts';

function coversBitsOf(outer: MapChecksum, inner: MapChecksum): boolean {
  const covered = new Map(coveredBytes(outer).map(({ byte, mask }) => [byte, mask]));
  return bitPositions(inner).some((position) => ((covered.get(position >> 3) ?? 0) >> (position & 7)) & 1);
}

/** Indexes into `checksums`, inner before outer; null where two cover each other. */
export function checksumOrder(checksums: readonly MapChecksum[]): number[] | null {
  const waiting = new Set(checksums.keys());
  const order: number[] = [];
  while (waiting.size > 0) {
    const ready = [...waiting].find((index) => {
      const outer = checksums[index] as MapChecksum;
      return [...waiting].every((other) => other === index || !coversBitsOf(outer, checksums[other] as MapChecksum));
    });
    if (ready === undefined) return null;
    waiting.delete(ready);
    order.push(ready);
  }
  return order;
}
