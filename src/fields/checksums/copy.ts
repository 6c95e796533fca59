/**
 * Complemented copies: a byte, or a nibble, that shows another one with every bit turned over, beside the counter that the frame carries, or a byte at its edge (common
 * practice, no source). Bits that happen to be opposite are not enough: all of them must be, those that stand still too, and three move apart.
 */
import type { MapChecksum } from '../../map/schema.ts';
import { rankWithin, type Evidence } from './evidence.ts';
import { tagValue, type TagPlace } from './places.ts';

/** Independent moves without which two bytes may be opposite by chance. */
const RANK_MIN = 3;
/** Of a byte at an edge of the frame with no counter in sight, as where one did not come round. */
const RANK_ALONE = 5;
/** Share of payloads that must be so: broken ones and those before a module has values may not. */
const HOLDS_MIN = 0.98;

type Cover = NonNullable<MapChecksum['covers']>[number];

const NIBBLES = [
  { shift: 0, mask: 0x0f },
  { shift: 4, mask: 0xf0 },
];

function* sources(place: TagPlace, bytes: number): Generator<{ byte: number; shift: number; cover: Cover }> {
  for (let byte = 0; byte < bytes; byte++) {
    if (place.length === 8) yield { byte, shift: 0, cover: byte };
    else for (const { shift, mask } of NIBBLES) yield { byte, shift, cover: { byte, mask } };
  }
}

/** Whether one byte at most moves beside the tag while others stand still: then a complemented sum over all shows the same. */
function standsAlone(place: TagPlace, { moved, bytes }: Evidence): boolean {
  const others = [...moved.keys()].filter((byte) => place.mask[byte] === 0);
  return place.length === 8 && bytes > 2 && others.filter((byte) => moved[byte] !== 0).length <= 1;
}

/** The rule of a place that is a complemented copy of another, or null. Only where the place adjoins a counter or an edge, unless the bus has such rules. */
export function copyAt(
  place: TagPlace,
  evidence: Evidence,
  isHabit = false,
): (Partial<MapChecksum> & Pick<MapChecksum, 'method'>) | null {
  const isNear = isHabit || place.besideCounter || place.onCounter;
  const atEdge = place.length === 8 && (place.mask[0] !== 0 || place.mask[evidence.bytes - 1] !== 0);
  const least = isNear ? RANK_MIN : atEdge ? RANK_ALONE : Infinity;
  if (!isHabit && standsAlone(place, evidence)) return null;
  if (place.length > 8 || rankWithin(evidence.differences, place.mask) < least) return null;
  const full = (1 << place.length) - 1;
  const most = (1 - HOLDS_MIN) * evidence.payloads.length;
  for (const { byte, shift, cover } of sources(place, evidence.bytes)) {
    if (((place.mask[byte] as number) >> shift) & full) continue;
    let failed = 0;
    for (const payload of evidence.payloads) {
      if (tagValue(place, payload) !== (~((payload[byte] as number) >> shift) & full) && ++failed > most) break;
    }
    if (failed <= most)
      return { method: 'copy', width: place.length, xorout: `0x${full.toString(16).toUpperCase()}`, covers: [cover] };
  }
  return null;
}
