/**
 * Whether each checksum's rule is settled, and for which payload bits the recording could not show their part in it. A byte of which some bits moved is
 * covered, that much is shown; of one that never moved, nobody knows: it may be spare, and nothing here tells. Where the whole identifier rested,
 * its values are bound to move one day, and the recording is short of that.
 */
import { placementLength } from '../../frames/bits.ts';
import type { FrameFindings } from '../../fields/types.ts';
import type { MapChecksum } from '../../map/schema.ts';
import type { Need, Verdict } from './types.ts';

/** Below this the finders themselves doubt the rule. */
const RULE_SURE = 0.8;

const bitOf = ({ byte, bit }: { readonly byte: number; readonly bit: number }): number => byte * 8 + bit;

/** Bytes of which no bit moved, all eight of their bits undetermined. */
function stillBytes(bits: readonly number[]): number[] {
  const counts = new Map<number, number>();
  for (const at of bits) counts.set(at >> 3, (counts.get(at >> 3) ?? 0) + 1);
  return [...counts].filter(([, count]) => count === 8).map(([byte]) => byte);
}

const byteWords = (bytes: readonly number[]): string =>
  bytes.length === 1 ? `byte ${bytes[0]}` : `bytes ${bytes.join(', ')}`;

interface Judged {
  readonly verdict: Verdict;
  readonly says: string;
}

function judge({ fields, counters }: FrameFindings, checksum: MapChecksum, bits: readonly number[]): Judged {
  const { method, confidence } = checksum;
  if (method === 'mac')
    return { verdict: 'cannot-tell', says: 'A keyed tag: no recording shows its key. Its partners must come along.' };
  if (fields.length === 0) {
    const moved = counters.length > 0 ? 'nothing but its counter moved' : 'nothing else moved';
    return { verdict: 'short', says: `The identifier rested, ${moved}: what the rule covers is not shown.` };
  }
  if (method === 'unsolved')
    return { verdict: 'cannot-tell', says: 'A rule that was not found: more payloads may settle it, or it is keyed.' };
  if (confidence < RULE_SURE)
    return { verdict: 'short', says: `The rule is in doubt (${confidence}): too few payloads differ.` };
  const still = stillBytes(bits);
  if (still.length > 0) {
    const them = still.length === 1 ? 'it' : 'them';
    const says = `The rule holds, but ${byteWords(still)} never moved: whether it covers ${them} is not shown, and perhaps they are spare.`;
    return { verdict: 'cannot-tell', says };
  }
  const beside = bits.length === 1 ? 'one bit' : `${bits.length} bits`;
  return {
    verdict: 'enough',
    says: bits.length > 0 ? `Settled; ${beside} beside others that moved never did.` : 'Settled on all bits.',
  };
}

export function guardNeeds(findings: readonly FrameFindings[]): readonly Need[] {
  return findings.flatMap((finding) =>
    finding.checksums.map((checksum): Need => {
      const { bus, id, extended } = finding;
      const bits = checksum.undetermined.map(bitOf);
      const place = `byte ${checksum.lsb.byte} bit ${checksum.lsb.bit}, ${placementLength(checksum)} bits`;
      const page = checksum.when ? ` on ${JSON.stringify(checksum.when)}` : '';
      const { verdict, says } = judge(finding, checksum, bits);
      return {
        key: `guard ${bus} ${id}${extended ? ' extended' : ''} ${place}${page}`,
        what: 'guard',
        about: `${bus} ${id} ${place}${page}`,
        verdict,
        figures: { undetermined: bits.length, stillBytes: stillBytes(bits).length, confidence: checksum.confidence },
        says,
        at: { bus, id, extended },
        bits,
      };
    }),
  );
}
