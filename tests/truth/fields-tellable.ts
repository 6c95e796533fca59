/**
 * Which true fields a capture lets anybody tell from their neighbours. Where two neighbours share a border, one value over both could have
 * sent the same payloads; only moves of one without the other speak for the border, and each by how seldom the one value would have moved
 * so: the weight of evidence (I. J. Good 1950), in bits. There are two such values. A number would have carried into the upper part for
 * a step that large as often as step / 2^lower; and it moves the upper part alone once in 2^lower. States taken as equally likely spare the
 * other part once in (2^both - 1) / (2^own - 1). The border is told as soon as both are unlikely. So few fields are excused: frames that
 * moved both speak against a border and are not counted so, likely small steps and known states are no better than others, and odds of
 * ten to one suffice. What goes to and fro repeats itself, which is hardly new evidence: a change seen for the n-th time counts 1/n.
 * Nothing here knows how the finders work.
 */
import { bitPositions, rawReader, type ByteOrder, type Placement } from '../../src/frames/bits.ts';
import type { KnownField, Seen, Sight } from './fields-truth.ts';

type SeenField = Seen<KnownField>;

/** Odds below which nobody should say that there are two fields. */
const ODDS_MIN = 10;
const EVIDENCE_MIN = Math.log2(ODDS_MIN);
/** Neighbours that only move together are excused while they take so few values; with more, their steps may tell. */
const JOINT_VALUES_MAX = 3;
/** Still bits that a value over both may well have inside. */
const STILL_MAX = 7;
const READABLE_BITS = 53;
/** Two parts narrower than this together are no number (common practice, no source). */
const NUMBER_BITS_MIN = 4;

type Border = 'told' | 'never parted' | 'hardly parted';

/** One value over both, the lower first, or null where none can lie so: another field between, or bytes in an order that no value has. */
function pieceOver(lower: SeenField, upper: SeenField, moved: Uint8Array): Placement | null {
  const orders: ByteOrder[] = ['little', 'big'];
  for (const order of orders) {
    for (let still = 0; still <= STILL_MAX; still++) {
      const length = lower.bits.length + still + upper.bits.length;
      const low = lower.bits[0] as number;
      const place = { lsb: { byte: low >> 3, bit: low & 7 }, length, order };
      const bits = bitPositions(place);
      if (bits.some((at) => at < 0 || at >= moved.length * 8)) continue;
      const between = bits.slice(lower.bits.length, lower.bits.length + still);
      if (between.some((at) => ((moved[at >> 3] as number) >> (at & 7)) & 1)) continue;
      if (
        lower.bits.every((at, i) => bits[i] === at) &&
        upper.bits.every((at, i) => bits[length - upper.bits.length + i] === at)
      )
        return place;
    }
  }
  return null;
}

const ofBits = (bits: readonly number[], order: ByteOrder): Placement => ({
  lsb: { byte: (bits[0] as number) >> 3, bit: (bits[0] as number) & 7 },
  length: bits.length,
  order,
});

type Pair = readonly [lower: number, upper: number];

/** Bits that one move of one part alone says against one number over both, and against states over both. */
function weightOf(from: Pair, to: Pair, lowerBits: number, upperBits: number): { number: number; states: number } {
  const isLower = from[0] !== to[0];
  const own = isLower ? lowerBits : upperBits;
  const states = Math.log2((2 ** (lowerBits + upperBits) - 1) / (2 ** own - 1));
  const number = isLower ? -Math.log2(1 - Math.abs(to[0] - from[0]) / 2 ** lowerBits) : lowerBits;
  return { number, states };
}

/** Bits in favour of a border between the two, and how many values both together took. */
function evidenceOf(
  lower: SeenField,
  upper: SeenField,
  order: ByteOrder,
  sight: Sight,
): { bits: number; joint: number } {
  const { payload, stride } = sight.stream;
  const [readLower, readUpper] = [rawReader(ofBits(lower.bits, order)), rawReader(ofBits(upper.bits, order))];
  const pairs = lower.rows.map((row): Pair => [readLower(payload, row * stride), readUpper(payload, row * stride)]);
  const times = new Map<string, number>();
  let [number, states] = [0, 0];
  pairs.forEach((to, i) => {
    const from = pairs[Math.max(0, i - 1)] as Pair;
    if ((from[0] !== to[0]) === (from[1] !== to[1])) return;
    const change = [from.join(), to.join()].sort().join(' ');
    const seen = (times.get(change) ?? 0) + 1;
    times.set(change, seen);
    const weight = weightOf(from, to, lower.bits.length, upper.bits.length);
    number += weight.number / seen;
    states += weight.states / seen;
  });
  const isNarrow = lower.bits.length + upper.bits.length < NUMBER_BITS_MIN;
  return { bits: isNarrow ? states : Math.min(number, states), joint: new Set(pairs.map((pair) => pair.join())).size };
}

function borderBetween(lower: SeenField, upper: SeenField, moved: Uint8Array, sight: Sight): Border {
  if (lower.rowsKey !== upper.rowsKey) return 'told';
  const place = pieceOver(lower, upper, moved);
  if (!place || lower.bits.length + upper.bits.length > READABLE_BITS) return 'told';
  const { bits, joint } = evidenceOf(lower, upper, place.order, sight);
  if (bits === 0) return joint <= JOINT_VALUES_MAX ? 'never parted' : 'told';
  return bits < EVIDENCE_MIN ? 'hardly parted' : 'told';
}

/** What keeps each true field of a frame without pages from being told from a neighbour; the worse of its borders. */
export function bordersOf(truth: readonly SeenField[], sight: Sight): ReadonlyMap<SeenField, Border> {
  const { moved } = sight.rowsOf([]);
  const found = new Map<SeenField, Border>(truth.map((each) => [each, 'told']));
  const note = (each: SeenField, border: Border): void => {
    if (border === 'never parted' || (border === 'hardly parted' && found.get(each) === 'told'))
      found.set(each, border);
  };
  for (const lower of truth)
    for (const upper of truth) {
      if (lower === upper) continue;
      const border = borderBetween(lower, upper, moved, sight);
      note(lower, border);
      note(upper, border);
    }
  return found;
}
