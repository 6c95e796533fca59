/** A tag that no rule explains, as the map has it, and the reasons given for it. */
import { bitPositions, type Placement } from '../../frames/bits.ts';
import type { MapChecksum, When } from '../../map/schema.ts';
import { maskOf } from '../mask.ts';
import type { Explained } from '../types.ts';
import type { Repeats } from './tag-repeats.ts';

export type TagMethod = 'mac' | 'unsolved';

export interface Tag {
  readonly byte: number;
  readonly bit: number;
  readonly length: number;
}

export const placementOf = ({ byte, bit, length }: Tag): Placement => ({
  lsb: { byte, bit },
  length,
  order: 'little',
});

/** [bytes] mask of the tag's bits. */
export const tagMask = (tag: Tag, bytes: number): Uint8Array => maskOf(bytes, bitPositions(placementOf(tag)));

export function claimOf(
  { byte, bit, length }: Tag,
  method: TagMethod,
  when: When,
  confidence: number,
  why: string,
): Explained<MapChecksum> {
  return {
    lsb: { byte, bit },
    length,
    order: 'little',
    method,
    when,
    undetermined: [],
    confidence,
    why,
  };
}

/** How sure a tag is of which so many frames speak. */
export const sureOf = (times: number): number => Math.round(100 * (1 - 1 / (1 + Math.sqrt(times)))) / 100;

export function whyOf(method: TagMethod, { seen, same }: Repeats, counters: number): string {
  const again = `The same other bits${counters > 0 ? ', counter included,' : ''} came again ${seen} times, and with`;
  if (method === 'mac')
    return `${again} another value here in ${seen - same} of them: a key or a hidden state is in it, which a capture cannot show.`;
  return `${again} the same value here in ${same} of them: a rule, but none of the known kinds.`;
}

export const whyUnseen = ({ seen }: Repeats): string =>
  `It lies beside the counter at the edge of the frame, changes like a tag whenever the frame does, and no known rule explains it; the same other bits came ` +
  `again ${seen === 0 ? 'never' : `only ${seen} times`}, so that a key cannot be told from an unknown rule. ` +
  'Tags this long are mostly keyed. A capture in which content comes again would settle it.';
