/** Which bits of a stream moved, counted from its payloads. */
import type { Stream } from '../../src/frames/table.ts';

/** Payload bits of a stream that moved. */
export function movedBits({ count, stride, payload }: Stream): Set<number> {
  const moved = new Uint8Array(stride);
  for (let row = 1; row < count; row++)
    for (let byte = 0; byte < stride; byte++)
      moved[byte] = (moved[byte] as number) | ((payload[row * stride + byte] as number) ^ (payload[byte] as number));
  return new Set(
    [...moved].flatMap((mask, byte) =>
      [0, 1, 2, 3, 4, 5, 6, 7].filter((bit) => (mask >> bit) & 1).map((bit) => byte * 8 + bit),
    ),
  );
}
