/**
 * The same quantity in several fields: exact, scaled, with an offset, delayed, coarser, complemented. Every pair whose ranks or steps go
 * together is held against each other in detail; what may be claimed is bounded by the false discovery rate over all pairs there are
 * (Benjamini and Hochberg 1995). Fields are told in groups, each member by its tie to the one that the others follow.
 */
import { checkpoint, part, type Control } from '../../kit/control.ts';
import { createRandom, type Random } from '../../kit/random.ts';
import type { FrameTable } from '../../frames/table.ts';
import { candidatesOf, type ProposedFrame } from '../../map/proposed-fields.ts';
import { chanceOf, stepSignatures, type StepSignatures } from './chance.ts';
import { CLAIM_Q, groupsOf, isCopy, isSame, type Judged } from './groups.ts';
import { tieNumbers } from './numbers.ts';
import { onGrid } from './pairs.ts';
import { comparedField, gridStepUs, signatureOf, type ComparedField } from './series.ts';
import { tieTurns } from './turns.ts';
import type { SameValueReport } from './types.ts';

export interface SameValueInput {
  readonly table: FrameTable;
  readonly findings: readonly ProposedFrame[];
  readonly seed: number;
}

/** Fields that change less often, or take fewer values, are compared turn by turn. */
const NUMBER_CHANGES = 30;
const NUMBER_VALUES = 6;
/** Rank correlation of levels, or of steps over stretches, below which a pair is not worth a closer look. */
const LEVELS = 0.8;
const STEPS = 0.5;
/** Stretch lengths that are looked at for the choice: the second to the fourth. */
const CHOSEN_STRETCHES = [1, 2, 3] as const;

interface Prepared {
  readonly field: ComparedField;
  readonly levels: Float32Array;
  readonly steps: StepSignatures;
}

function product(a: Float32Array, b: Float32Array, shift: number): number {
  let sum = 0;
  const to = a.length - Math.max(0, shift);
  for (let k = Math.max(0, -shift); k < to; k++) sum += (a[k] as number) * (b[k + shift] as number);
  return Math.abs(sum);
}

/** By levels or by steps, whichever is nearer; 0 where neither is near enough. */
function nearness(a: Prepared, b: Prepared): number {
  const levels = product(a.levels, b.levels, 0);
  if (levels >= LEVELS) return levels;
  const isNear = CHOSEN_STRETCHES.some((k) => {
    const [mine, other] = [a.steps[k], b.steps[k]];
    return mine && other && [0, -1, 1].some((shift) => product(mine, other, shift) >= STEPS);
  });
  return isNear ? Math.max(levels, STEPS) : 0;
}

/** What is no copy of any of so many that it is nearest to is held against no more: cells of a pack are alike by the hundred. */
const LOOKS_MOST = 10;

const isNumber = ({ changes, distinct }: ComparedField): boolean =>
  changes.length >= NUMBER_CHANGES && distinct >= NUMBER_VALUES;

/** The one that shows more, in smaller steps or more often, is the one the other is read off. */
const detail = ({ distinct, periodUs }: ComparedField): number => Math.log(distinct) - 0.5 * Math.log(periodUs);

function judgeNumbers(a: Prepared, b: Prepared, random: Random): Judged | null {
  const [base, other] = detail(a.field) >= detail(b.field) ? [a, b] : [b, a];
  const tie = tieNumbers(base.field, other.field, random);
  if (!tie || !isCopy(tie)) return null;
  const { p, steps } = chanceOf(base.steps, other.steps);
  return { base: base.field, other: other.field, p, number: { ...tie, steps }, turns: null };
}

/** Turns need as many partners: the nearer their counts, the nearer they are; never 0, for a closer look costs little. */
const turnsAlike = ({ changes: a }: ComparedField, { changes: b }: ComparedField): number =>
  Math.min(a.length, b.length) / Math.max(a.length, b.length);

function judgeTurns(a: ComparedField, b: ComparedField, lengthUs: number): Judged | null {
  const turns = tieTurns(a, b, lengthUs);
  return turns && { base: a, other: b, p: turns.p, number: null, turns };
}

/**
 * Each is held against those before it that stand alone so far or for others, the nearest first; what shows the same as one of them is not held against
 * the rest, so that a hundred alike cost a hundred closer looks and not five thousand. Bonferroni's bound stands in for q, which is never above it.
 */
async function gather<T>(
  items: readonly T[],
  near: (head: T, item: T) => number,
  judge: (head: T, item: T) => Judged | null,
  looksMost: number,
  pairs: number,
  control: Control,
): Promise<Judged[]> {
  const heads: T[] = [];
  const judged: Judged[] = [];
  for (const [index, item] of items.entries()) {
    await checkpoint(control, index / items.length, 'pairs of fields that go together');
    const nearest = heads
      .map((head) => ({ head, nearness: near(head, item) }))
      .filter(({ nearness }) => nearness > 0)
      .toSorted((a, b) => b.nearness - a.nearness)
      .slice(0, looksMost);
    let alone = true;
    for (const { head } of nearest) {
      const found = judge(head, item);
      if (found) judged.push(found);
      if (!found || found.p * pairs > CLAIM_Q || !isSame(found)) continue;
      alone = false;
      break;
    }
    if (alone) heads.push(item);
  }
  return judged;
}

/** Deterministic for one seed. Cost: one read of each field's frames, a product of signatures a pair, and a closer look at those that go together. */
export async function findSameValues(input: SameValueInput, control: Control): Promise<SameValueReport> {
  const { table, findings, seed } = input;
  const random = createRandom(seed).fork('same values');
  const candidates = table.origin.kind === 'none' ? [] : candidatesOf(table, findings);
  const stepUs = gridStepUs(table.endUs);
  const points = Math.ceil(table.endUs / stepUs) + 1;
  const [numbers, turning]: [Prepared[], ComparedField[]] = [[], []];
  for (const [index, candidate] of candidates.entries()) {
    await checkpoint(control, (0.5 * index) / candidates.length, 'fields that show the same value');
    const field = comparedField(candidate);
    if (!field) continue;
    if (isNumber(field)) {
      const levels = signatureOf(onGrid(field, stepUs, points));
      numbers.push({ field, levels, steps: stepSignatures(field, table.endUs) });
    } else turning.push(field);
  }
  const count = (n: number): number => (n * (n - 1)) / 2;
  const pairs = count(numbers.length) + count(turning.length);
  numbers.sort((a, b) => detail(b.field) - detail(a.field));
  turning.sort((a, b) => detail(b) - detail(a));
  const together = (a: Prepared, b: Prepared): Judged | null => judgeNumbers(a, b, random);
  const turned = (a: ComparedField, b: ComparedField): Judged | null => judgeTurns(a, b, table.endUs);
  const judged = [
    ...(await gather(numbers, nearness, together, LOOKS_MOST, pairs, part(control, 0.5, 0.9))),
    ...(await gather(turning, turnsAlike, turned, Infinity, pairs, part(control, 0.9, 1))),
  ];
  await checkpoint(control, 1, 'same values found');
  return { groups: groupsOf(judged, pairs), fields: numbers.length + turning.length, pairs };
}
