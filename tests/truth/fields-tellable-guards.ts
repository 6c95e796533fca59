/**
 * Which tags with a key, or with a rule outside all families, a capture lets anybody tell from each other: those whose content came again. A rule
 * brings the same tag again, a key another one but for chance. Where the rest of the frame never came again, but for frames sent twice, every series of
 * tags has a key that makes it and a rule that does, and nobody can say which. So few are excused: one time is enough, and a tag of
 * half a byte, which chance brings again in one of sixteen, is no better than others. Nothing here knows how the finders work.
 */
import type { Seen, Sight } from './fields-truth.ts';

/** Whether all bits beside a tag's came again, with others in between, on the frames that hold it. */
export function contentCameAgain({ bits, rows }: Seen, { stream: { payload, stride } }: Sight): boolean {
  const mask = new Uint8Array(stride).fill(0xff);
  for (const at of bits) mask[at >> 3]! &= ~(1 << (at & 7));
  const met = new Set<string>();
  let last = '';
  return rows.some((row) => {
    const rest = payload.subarray(row * stride, (row + 1) * stride).map((byte, index) => byte & mask[index]!);
    const content = rest.join();
    const again = content !== last && met.has(content);
    met.add(content);
    last = content;
    return again;
  });
}
