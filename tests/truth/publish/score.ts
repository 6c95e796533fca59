/** What was found of the numbers planted, bit by bit, and what was found that is none. */
import { bitPositions } from '../../../src/frames/bits.ts';
import { payloadAt, type Stream } from '../../../src/frames/table.ts';
import { streamKeyText, type BlankRule, type Find } from '../../../src/handover/publish/types.ts';
import type { KnownDrive } from '../fields-truth.ts';
import type { PlantedCase, PlantedStream } from './cases.ts';

const rulesOf = (finds: readonly Find[]): BlankRule[] =>
  finds.flatMap(({ occurrences }) => occurrences.flatMap(({ rules }) => rules));

/** [bytes] bits that the rules write over in one payload. */
function writtenIn(payload: Uint8Array, rules: readonly BlankRule[]): Uint8Array {
  const written = new Uint8Array(payload.length);
  for (const rule of rules) {
    if (!rule.holds.every(({ byte, mask, value }) => ((payload[byte] ?? 0) & mask) === value)) continue;
    for (const { byte, mask } of rule.writes) written[byte]! |= mask;
  }
  return written;
}

/** Whether every bit of the number is written over in every frame that carries it. */
function isWhole({ frames, stream }: PlantedStream, rules: readonly BlankRule[]): boolean {
  const own = rules.filter((rule) => streamKeyText(rule) === streamKeyText(stream));
  return Array.from({ length: Math.min(stream.count, 200) }, (_, row) => row).every((row) => {
    const payload = payloadAt(stream, row);
    const written = writtenIn(payload, own);
    const taken = frames.taken[row % frames.taken.length] as Uint8Array;
    return taken.every((mask, byte) => (mask & ~(written[byte] as number)) === 0);
  });
}

export interface PlantScore {
  readonly way: string;
  readonly guarded: boolean;
  readonly whole: boolean;
}

const holdsText = (drive: KnownDrive, stream: Stream): readonly number[] =>
  drive.streams
    .filter((known) => streamKeyText(known.stream) === streamKeyText(stream))
    .flatMap(({ frame }) =>
      frame.fields
        .filter(({ coding }) => coding === 'text' || coding === 'bcd')
        .flatMap(({ place }) => bitPositions(place)),
    );

/** Whether a find touches a number that was planted, or text and packed decimals that the vehicle itself has. */
export function isTrue({ plants, drive }: PlantedCase, find: Find): boolean {
  const rules = rulesOf([find]);
  return rules.some((rule) => {
    const key = streamKeyText(rule);
    const planted = plants.flatMap(({ streams }) => streams).find(({ stream }) => streamKeyText(stream) === key);
    if (planted)
      return planted.frames.taken.some((taken) =>
        rule.writes.some(({ byte, mask }) => ((taken[byte] ?? 0) & mask) !== 0),
      );
    const known = drive.streams.find(({ stream }) => streamKeyText(stream) === key);
    const texts = known ? holdsText(drive, known.stream) : [];
    return rule.writes.some(({ byte, mask }) =>
      texts.some((place) => place >> 3 === byte && (mask >> (place & 7)) & 1),
    );
  });
}

export function scorePlants({ plants }: PlantedCase, finds: readonly Find[]): readonly PlantScore[] {
  const rules = rulesOf(finds.filter(({ usual }) => usual));
  return plants.map(({ way, guarded, streams }) => ({
    way,
    guarded,
    whole: streams.every((stream) => isWhole(stream, rules)),
  }));
}
