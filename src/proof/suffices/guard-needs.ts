/**
 * Whether each checksum's rule is settled, and for which payload bits the recording could not show their part in it. A byte of which some bits moved is
 * covered, that much is shown; of one that never moved, nobody knows: it may be spare, and nothing here tells. Where the whole identifier rested,
 * its values are bound to move one day, and the recording is short of that; where hardly anything moved, nobody can know of a guard.
 */
import { bitPositions, placementLength } from '../../frames/bits.ts';
import type { FrameFindings } from '../../fields/types.ts';
import type { MapChecksum } from '../../map/schema.ts';
import type { SurveyFrame } from '../../timing/types.ts';
import { namesOf } from '../../kit/few-names.ts';
import type { Need, SufficesInput, Verdict } from './types.ts';

/** Below this the finders themselves doubt the rule. */
const RULE_SURE = 0.8;
/**
 * Bits that moved where a guard of eight, a counter of eight and four more are all there is, and payloads of one turn of a four-bit counter. Over so little a
 * guard is a copy, a complement or a table as well as a rule, and the finders claim none: without a guard found, there may be one all the same.
 */
const MOVED_TELL_NOTHING = 20;
const PAYLOADS_TELL_NOTHING = 16;

const bitOf = ({ byte, bit }: { readonly byte: number; readonly bit: number }): number => byte * 8 + bit;

/** Payload bits that never moved, those of the guard itself left out. */
function restedBits({ bits, length }: FrameFindings, checksum: MapChecksum): number[] {
  const own = new Set(bitPositions(checksum));
  return Array.from({ length: 8 * length }, (_, at) => at).filter((at) => !own.has(at) && !bits.changeShare[at]);
}

/** Of a rule that was not found no bit's part is known; those that rested are what a recording may add. */
const openBits = (finding: FrameFindings, checksum: MapChecksum): number[] =>
  checksum.method === 'unsolved' ? restedBits(finding, checksum) : checksum.undetermined.map(bitOf);

/** Bytes of which no bit moved, all eight of their bits undetermined. */
function stillBytes(bits: readonly number[]): number[] {
  const counts = new Map<number, number>();
  for (const at of bits) counts.set(at >> 3, (counts.get(at >> 3) ?? 0) + 1);
  return [...counts].filter(([, count]) => count === 8).map(([byte]) => byte);
}

const byteWords = (bytes: readonly number[]): string =>
  bytes.length === 1 ? `byte ${bytes[0]}` : `bytes ${bytes.join(', ')}`;

function unsolvedWords(bits: readonly number[]): string {
  const rested = bits.length === 0 ? '' : `; ${bits.length === 1 ? 'one bit' : `${bits.length} bits`} never moved`;
  return `A rule that was not found${rested}: more payloads may settle it, or it is keyed.`;
}

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
  if (method === 'unsolved') return { verdict: 'cannot-tell', says: unsolvedWords(bits) };
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

const keyOf = ({ bus, id, extended }: Pick<SurveyFrame, 'bus' | 'id' | 'extended'>): string =>
  `${bus} ${id} ${extended}`;

const movedOf = ({ bits }: FrameFindings): number => bits.changeShare.filter((share) => share > 0).length;

/** All identifiers that moved too little to show a guard, in one need: each by itself would bury what matters. */
function restedNeed(findings: readonly FrameFindings[], frames: readonly SurveyFrame[]): Need[] {
  const free = new Map(findings.filter(({ checksums }) => checksums.length === 0).map((each) => [keyOf(each), each]));
  const rested = frames.filter((frame) => {
    const finding = free.get(keyOf(frame));
    if (!finding || frame.direction !== 'received' || frame.length === 0) return false;
    return frame.distinctPayloads <= PAYLOADS_TELL_NOTHING || movedOf(finding) <= MOVED_TELL_NOTHING;
  });
  if (rested.length === 0) return [];
  const still = rested.filter(({ distinctPayloads }) => distinctPayloads <= 1).length;
  const one = rested.length === 1;
  return [
    {
      key: 'guard rested',
      what: 'guard',
      about: one ? '1 identifier that hardly moved' : `${rested.length} identifiers that hardly moved`,
      verdict: 'cannot-tell',
      figures: { identifiers: rested.length, still },
      says: `${namesOf(rested)} moved in ${MOVED_TELL_NOTHING} bits at most${still > 0 ? ` (${still} not at all)` : ''}: whether ${one ? 'it carries a guard' : 'they carry guards'} beside what was found, and over what, cannot be known.`,
      identifiers: rested.map(({ bus, id, extended }) => ({ bus, id, extended })),
    },
  ];
}

/** @param frames of the survey: how many payloads each identifier showed */
export function guardNeeds(
  findings: readonly FrameFindings[],
  { frames }: Pick<SufficesInput['survey'], 'frames'>,
): readonly Need[] {
  return [...ruleNeeds(findings), ...restedNeed(findings, frames)];
}

function ruleNeeds(findings: readonly FrameFindings[]): readonly Need[] {
  return findings.flatMap((finding) =>
    finding.checksums.map((checksum): Need => {
      const { bus, id, extended } = finding;
      const bits = openBits(finding, checksum);
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
