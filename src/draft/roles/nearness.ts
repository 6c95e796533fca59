/** Which pairs of numbers are worth a closer look: of different senders, and going together by rank or by value. */
import { gridStepUs } from '../../fields/same-value/series.ts';
import { togetherOf } from './gathers.ts';
import type { Prepared } from './prepared.ts';

/** Correlation on the coarse grid below which a pair is not worth a closer look. */
const LEVELS = 0.6;
/** What is set to a few heights is held back for long by limits and enables. */
const LEVELS_SET = 0.5;
const levelsLeast = (a: Prepared, b: Prepared): number => (a.goesBySteps || b.goesBySteps ? LEVELS_SET : LEVELS);
/** What goes together less than this at one moment does so hardly at any other. */
const LATER_FROM = 0.25;
/** Short pulses answered late do not overlap with what they answer. */
const LATER_US = [250_000, 500_000, 1_000_000] as const;
/** Each field is held against so many of its nearest at most: cells of a pack are alike by the hundred. */
const NEAREST_MOST = 8;

export const nearness = (a: Prepared, b: Prepared): number =>
  Math.max(Math.abs(togetherOf(a.levels, b.levels)), Math.abs(togetherOf(a.values, b.values)));

/** The same, or as one of them is some time later. Cheap, as few pairs come near it. */
function nearnessLater(a: Prepared, b: Prepared, stepUs: number): number {
  const near = nearness(a, b);
  if (near >= LEVELS || near < LATER_FROM) return near;
  const later = LATER_US.flatMap((us) => [Math.round(us / stepUs), a.values.length - Math.round(us / stepUs)]).filter(
    (shift) => shift > 0 && shift < a.values.length,
  );
  return later.reduce(
    (most, shift) =>
      Math.max(most, Math.abs(togetherOf(a.levels, b.levels, shift)), Math.abs(togetherOf(a.values, b.values, shift))),
    near,
  );
}

/** A part's command is in no frame that the part itself sends: fields of one sender, or of one frame, follow each other in no sense asked here. */
const mayCommand = (a: Prepared, b: Prepared): boolean => {
  if (a.sender !== null && b.sender !== null) return a.sender !== b.sender;
  return a.candidate.stream !== b.candidate.stream;
};

interface Pair {
  readonly a: Prepared;
  readonly b: Prepared;
  readonly near: number;
}

/** Pairs near enough for a closer look, each field's nearest first, sorted by the one that is read as the leader at first. */
export function nearPairs(numbers: readonly Prepared[], lengthUs: number): { chosen: Pair[]; pairs: number } {
  const near: Pair[] = [];
  const stepUs = gridStepUs(lengthUs);
  let pairs = 0;
  numbers.forEach((a, i) => {
    for (const b of numbers.slice(i + 1)) {
      if (!mayCommand(a, b)) continue;
      pairs++;
      const nearHere = nearnessLater(a, b, stepUs);
      if (nearHere >= levelsLeast(a, b)) near.push({ a, b, near: nearHere });
    }
  });
  const looks = new Map<Prepared, number>();
  const chosen = near
    .sort((x, y) => y.near - x.near)
    .filter(({ a, b }) => {
      const [ofA, ofB] = [looks.get(a) ?? 0, looks.get(b) ?? 0];
      if (ofA >= NEAREST_MOST && ofB >= NEAREST_MOST) return false;
      looks.set(a, ofA + 1);
      looks.set(b, ofB + 1);
      return true;
    });
  const order = new Map(numbers.map((each, index) => [each, index]));
  chosen.sort((x, y) => (order.get(x.a) as number) - (order.get(y.a) as number));
  return { chosen, pairs };
}
