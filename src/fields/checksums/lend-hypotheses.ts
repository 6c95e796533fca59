/** Which rule of the bus may lie where on an identifier, over what, and which of these are the likeliest. */
import type { Piece } from '../../frames/bits.ts';
import type { MapCounter } from '../../map/schema.ts';
import { hasBit } from '../mask.ts';
import type { Evidence } from './evidence.ts';
import { startOf, type RuleHabit, type TagSpot } from './lend-habits.ts';
import { lentRules, type LentRule } from './lend-rules.ts';
import { bytesOf, isSymmetric, spotBits, spotsOfBus } from './lend-spots.ts';
import { livelinessOf, makePlace, type TagPlace } from './places.ts';

/** From this length on each half may be guarded on its own. */
const TWO_PARTS = 16;

export interface LendTo {
  readonly id: number;
  readonly evidence: Evidence;
  /** [bytes] bits that may hold a tag. */
  readonly usable: Uint8Array;
  /** [bytes] mask of steady counters. */
  readonly counting: Uint8Array;
  readonly counters: readonly MapCounter[];
}

export interface Hypothesis {
  readonly habit: RuleHabit;
  /** Of the rule and the place, among all rules and places. */
  readonly share: number;
  readonly place: TagPlace;
  /** log2 of the share of tags that lie there. */
  readonly placeBits: number;
  readonly covers: readonly number[];
  readonly spot: TagSpot;
  /** First and last byte of the part that it guards. */
  readonly part: readonly [number, number];
  /** Whether a counter of the frame lies to the tag as it does in others. */
  readonly withCounter: boolean;
}

function pieceAt({ length, order }: RuleHabit, spot: TagSpot, first: number, last: number): Piece {
  const wide = bytesOf(length);
  const at = startOf(spot, first, last, wide);
  return { lsb: { byte: order === 'big' ? at + wide - 1 : at, bit: spot.bit }, length, order };
}

const liesBeside = (habit: RuleHabit, first: number, counters: readonly MapCounter[]): boolean =>
  habit.counters.some(({ offset, bit, length, step }) =>
    counters.some(
      (each) =>
        each.lsb.byte - first === offset && each.lsb.bit === bit && each.length === length && each.step === step,
    ),
  );

/** The frame and, of a long one, its halves: before it where both move, as a sum over a guarded half comes out to a constant. */
function partsOf({ bytes, moved }: Evidence): [number, number][] {
  const half = bytes / 2;
  const all: [number, number] = [0, bytes - 1];
  if (bytes < TWO_PARTS || bytes % 2 !== 0) return [all];
  const halves: [number, number][] = [
    [0, half - 1],
    [half, bytes - 1],
  ];
  const bothMove = halves.every(
    ([first, last]) => moved.slice(first, last + 1).filter((bits) => bits !== 0).length > 1,
  );
  return bothMove ? [...halves, all] : [all, ...halves];
}

/** Spots of the identifiers with the rule; where any byte may be the tag less one, as the one in doubt may be among them. */
function ownSpots(habit: RuleHabit): readonly TagSpot[] {
  if (habit.frames === 0) return [];
  return isSymmetric(habit) ? habit.spots.map((spot) => ({ ...spot, frames: spot.frames - 1 })) : habit.spots;
}

function* hypothesesOf(rules: readonly LentRule[], habits: readonly RuleHabit[], to: LendTo): Generator<Hypothesis> {
  const { evidence, usable, counting, counters } = to;
  const seen = new Set<string>();
  for (const { habit, share } of rules)
    for (const [first, last] of partsOf(evidence))
      for (const spot of isSymmetric(habit) ? [...habit.spots, ...spotsOfBus(habits, habit.length)] : habit.spots) {
        const piece = pieceAt(habit, spot, first, last);
        const wide = bytesOf(habit.length);
        const start = piece.order === 'big' ? piece.lsb.byte - wide + 1 : piece.lsb.byte;
        const key = JSON.stringify([rules.findIndex((rule) => rule.habit === habit), piece, first, last]);
        if (start < first || start + wide - 1 > last || seen.has(key)) continue;
        seen.add(key);
        const place = makePlace(piece, evidence, counting);
        if (!place.positions.every((at) => hasBit(usable, at))) continue;
        const covers = Array.from({ length: last - first + 1 }, (_, index) => first + index).filter(
          (byte) => place.mask[byte] !== 0xff,
        );
        if (covers.some((byte) => evidence.taken[byte] !== 0)) continue;
        const at = { byte: start, bit: habit.length < 8 ? piece.lsb.bit : 0, length: habit.length, first, last };
        const placeBits = spotBits(at, ownSpots(habit), spotsOfBus(habits, habit.length));
        const withCounter = liesBeside(habit, start, counters);
        yield {
          habit,
          share: share * 2 ** placeBits,
          place,
          placeBits,
          covers,
          spot,
          part: [first, last],
          withCounter,
        };
      }
}

const comesBefore = (a: Hypothesis, b: Hypothesis): number =>
  b.habit.length - a.habit.length ||
  Number(b.withCounter) - Number(a.withCounter) ||
  b.habit.frames - a.habit.frames ||
  b.spot.frames - a.spot.frames;

/** Of a rule that holds from each of its bytes alike, over one part, the likeliest place comes where the first of them stood. */
function withLikeliestPlaces(ranked: readonly Hypothesis[], evidence: Evidence): Hypothesis[] {
  const numbers = new Map<RuleHabit, number>();
  const groups = new Map<string, Hypothesis[]>();
  for (const each of ranked) {
    const { habit, part, place } = each;
    if (!numbers.has(habit)) numbers.set(habit, numbers.size);
    const spot = isSymmetric(habit) ? '' : place.positions.join();
    const key = [numbers.get(habit), part.join(), spot].join(' ');
    groups.set(key, [...(groups.get(key) ?? []), each]);
  }
  return [...groups.values()].flatMap((group) => {
    const lively = livelinessOf(
      group.map(({ place }) => place),
      evidence,
    );
    const bits = new Map(group.map((each, index) => [each, (lively[index] as number) + each.placeBits]));
    return [...group].sort((a, b) => (bits.get(b) as number) - (bits.get(a) as number));
  });
}

/**
 * The likeliest first: wide rules, as the low half of a sum obeys a narrow one as well; a counter where others have it; then what most identifiers obey.
 */
export function hypothesesFor(habits: readonly RuleHabit[], to: LendTo): Hypothesis[] {
  return withLikeliestPlaces([...hypothesesOf(lentRules(habits), habits, to)].sort(comesBefore), to.evidence);
}
