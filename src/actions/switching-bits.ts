/**
 * Bits that now and then switch, as flags and states do, told by counting alone: what the marks' clock is found by where only modes are to be
 * named. Nothing is asked of counters, checksums or numbers, whose bits switch all the while, so that no payload need be taken apart first.
 */
import type { Stream, FrameTable } from '../frames/table.ts';
import { lengthAt } from '../frames/table.ts';
import { formatId } from '../kit/units.ts';
import type { ProposedField, ProposedFrame } from '../map/proposed-fields.ts';

/** A person hardly does anything more often than this, seconds; and what switches in every few frames is a number. */
const APART_LEAST_S = 2;
const FRAMES_A_SWITCH = 4;
/** What is there once, as a key turned, tells a clock from chance but little. */
const SWITCHES_LEAST = 3;

interface Switches {
  /** [8 * stride] by bit (8 * byte + bit): how often it switches from one frame to the next that holds it. */
  readonly counts: Uint32Array;
  /** [8 * stride] a sum that two bits have in common where they switch in the same frames, and hardly ever else. */
  readonly sums: Uint32Array;
}

/** So many of an identifier, those that switch least: the others are mostly the upper bits of numbers. */
const KEPT_MOST = 4;
/** Odd, so that products stay apart: Knuth's multiplier of 2^32 over the golden ratio (TAOCP 6.4). */
const SCATTER = 0x9e3779b1;

/** O(frames) */
function switchesOf(stream: Stream): Switches {
  const { payload, stride, count } = stream;
  const [counts, sums] = [new Uint32Array(8 * stride), new Uint32Array(8 * stride)];
  for (let row = 1; row < count; row++) {
    const length = Math.min(lengthAt(stream, row - 1), lengthAt(stream, row));
    for (let byte = 0; byte < length; byte++) {
      let changed = (payload[row * stride + byte] as number) ^ (payload[(row - 1) * stride + byte] as number);
      for (let place = 8 * byte; changed; place++, changed >>= 1) {
        if (!(changed & 1)) continue;
        counts[place] = (counts[place] as number) + 1;
        const scattered = Math.imul(row, SCATTER);
        sums[place] = (sums[place] as number) + Math.imul(scattered ^ (scattered >>> 15), SCATTER);
      }
    }
  }
  return { counts, sums };
}

const flagAt = (place: number): ProposedField => ({
  name: `bit ${place >> 3}.${place & 7}`,
  lsb: { byte: place >> 3, bit: place & 7 },
  length: 1,
  order: 'little',
  coding: 'unsigned',
  kind: 'flag',
  when: null,
  invalid: [],
});

/** Frames received, each with its bits that switch seldom, of those that switch in the same frames one. O(frames) */
export function switchingBits(table: FrameTable): ProposedFrame[] {
  const most = table.endUs / 1e6 / APART_LEAST_S;
  return table.streams.flatMap((stream): ProposedFrame[] => {
    const { bus, id, extended, direction, count } = stream;
    if (direction !== 'received') return [];
    const { counts, sums } = switchesOf(stream);
    const known = new Set<string>();
    const isSeldom = (times: number): boolean =>
      times >= SWITCHES_LEAST && times <= Math.min(most, count / FRAMES_A_SWITCH);
    const places = [...counts.keys()].filter((place) => {
      const key = `${counts[place]} ${sums[place]}`;
      const isNew = isSeldom(counts[place] as number) && !known.has(key);
      if (isNew) known.add(key);
      return isNew;
    });
    const least = places.toSorted((a, b) => (counts[a] as number) - (counts[b] as number)).slice(0, KEPT_MOST);
    const fields = least.map(flagAt);
    return fields.length === 0 ? [] : [{ bus, id: formatId(id), extended, direction, selectors: [], fields }];
  });
}
