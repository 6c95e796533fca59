/** What was blanked and why, for whoever gets the copy: places and counts, never a number or a part of one. */
import { formatId } from '../../kit/units.ts';
import type { StreamTally, LeftOutReason } from './blank-frames.ts';
import type { BlankRule, Find } from './types.ts';

export interface ListedPlace {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  /** "bytes 1 to 7", in the order of the payload. */
  readonly where: string;
}

export interface ListedFind {
  readonly key: string;
  readonly kind: Find['kind'];
  /** Characters; 0 where it is a value and no text. */
  readonly length: number;
  readonly confidence: number;
  readonly why: string;
  readonly packings: readonly string[];
  readonly places: readonly ListedPlace[];
}

export interface ListedFrames {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  readonly changed: number;
  readonly leftOut: number;
  readonly reason: string | null;
}

export interface BlankedList {
  readonly blanked: readonly ListedFind[];
  /** Found and left as they are, because the person said so. */
  readonly kept: readonly ListedFind[];
  /** Found and left as they are, because nobody asked for them to be blanked. */
  readonly offered: readonly ListedFind[];
  readonly frames: readonly ListedFrames[];
  readonly framesWritten: number;
  readonly framesChanged: number;
  readonly framesLeftOut: number;
  /** Remote and error frames are not written. */
  readonly remoteFrames: number;
  readonly errorFrames: number;
  readonly textsChanged: number;
  readonly restsDropped: readonly string[];
  readonly timesHidden: boolean;
  readonly searched: string;
  readonly cannotFind: readonly string[];
}

export const CANNOT_FIND: readonly string[] = [
  'numbers packed in ways other than: text of eight, seven and six bits a character, decimal and hexadecimal digits in half bytes, binary, each onward and backward, in a frame, over pages, over identifiers in a row, in diagnostic and other long messages and their parts;',
  'numbers in ciphertext, and those that a key or a secret makes look like noise;',
  'numbers that are too short to be told from chance and that nobody named: of packed decimals alone, fewer than some twelve digits in a frame and some eighteen over pages; serial numbers in six bits a character; numbers in binary that stand nowhere as text;',
  'a piece of fewer than four bytes in frames that change otherwise and belong to no message;',
  'who drove, where and when: marks, speeds and times are a diary. Publish no more of a capture than the question needs.',
];

const REASONS: Readonly<Record<LeftOutReason, string>> = {
  'not-in-map': 'the map does not describe this frame, so a guard in it could be wrong afterwards',
  'guard-unknown': 'its guard cannot be computed',
  'guard-did-not-hold': 'its guard did not hold in the capture',
  'guard-undetermined': 'the captures do not show how its guard depends on these bits',
};

/** "byte 0 bits 4 to 7, bytes 1 to 7". */
function whereOf(rules: readonly BlankRule[]): string {
  const masks = new Map<number, number>();
  for (const { writes } of rules) for (const { byte, mask } of writes) masks.set(byte, (masks.get(byte) ?? 0) | mask);
  const bytes = [...masks.keys()].sort((a, b) => a - b);
  const words: string[] = [];
  for (let at = 0; at < bytes.length; at++) {
    const byte = bytes[at] as number;
    const mask = masks.get(byte) as number;
    if (mask !== 255) {
      const bits = [0, 1, 2, 3, 4, 5, 6, 7].filter((bit) => (mask >> bit) & 1);
      words.push(`byte ${byte} bits ${bits[0]} to ${bits.at(-1)}`);
      continue;
    }
    let end = at;
    while (bytes[end + 1] === (bytes[end] as number) + 1 && masks.get(bytes[end + 1] as number) === 255) end++;
    words.push(end > at ? `bytes ${byte} to ${bytes[end]}` : `byte ${byte}`);
    at = end;
  }
  return words.join(', ');
}

function placesOf({ occurrences }: Find): readonly ListedPlace[] {
  const byFrame = new Map<string, BlankRule[]>();
  for (const rule of occurrences.flatMap(({ rules }) => rules)) {
    const key = `${rule.bus} ${rule.extended} ${rule.id}`;
    byFrame.set(key, [...(byFrame.get(key) ?? []), rule]);
  }
  return [...byFrame.values()].map((rules) => {
    const { bus, id, extended } = rules[0] as BlankRule;
    return { bus, id: formatId(id), extended, where: whereOf(rules) };
  });
}

export const listedFind = (find: Find): ListedFind => ({
  key: find.key,
  kind: find.kind,
  length: find.secret.length,
  confidence: find.confidence,
  why: find.why,
  packings: [...new Set(find.occurrences.map(({ packing, reach }) => `${packing.replaceAll('-', ' ')}, ${reach}`))],
  places: placesOf(find),
});

export const listedFrames = ({ bus, id, extended, changed, leftOut, reason }: StreamTally): ListedFrames => ({
  bus,
  id: formatId(id),
  extended,
  changed,
  leftOut,
  reason: leftOut > 0 && reason ? REASONS[reason] : null,
});
