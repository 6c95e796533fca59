/**
 * Scorecard of sequences over machines of the evidence simulator: of the steps that were planted behind a key or a plug, how many are told, in
 * the right order, and how often is a flag told that belongs to no event? Fields are placed as the truth has them, marks as a person made
 * them, on the capture's clock. Consequences that were not planted (a pump that runs once the key is on) count neither way.
 */
import { describe, expect, it } from 'vitest';
import { marksOnCapture } from '../../src/actions/marks.ts';
import { findSequences } from '../../src/actions/sequences.ts';
import type { Sequence, SequenceStep } from '../../src/actions/types.ts';
import { median } from '../../src/kit/statistics/order.ts';
import { makeEvidenceVehicle, type EvidenceTruth, type TrueSequence, type TrueStep } from './evidence/make-evidence.ts';
import { trueFieldOf } from './evidence/truth-of.ts';
import { seedsFor } from './support/vehicles.ts';

const asked = process.env['LOOMSCRIBE_SEED'] !== undefined;
const { base, seeds } = seedsFor('sequences', asked ? 12 : 3);

interface Score {
  planted: number;
  found: number;
  pairs: number;
  inOrder: number;
  listed: number;
  strangers: number;
  whole: number;
  sequences: number;
}

const isStep = (truth: EvidenceTruth, step: SequenceStep, planted: TrueStep): boolean =>
  step.from === planted.from && step.to === planted.to && trueFieldOf(truth, step)?.signal === planted.signal;

/** Median time since the event; NaN where it never came. */
const usualS = ({ atS }: TrueStep, { eventS }: TrueSequence): number =>
  median(atS.flatMap((at, k) => (at === null ? [] : [at - (eventS[k] as number)])));

/** Steps nearer to each other than what frames need to tell are in no order. */
function scoreOrder(
  score: Score,
  sequence: TrueSequence,
  truth: EvidenceTruth,
  told: readonly (readonly [TrueStep, number])[],
): void {
  const periodS = ({ signal }: TrueStep): number =>
    (truth.fields.find((field) => field.signal === signal)?.periodMs ?? 0) / 1000;
  for (const [one, place] of told)
    for (const [other, after] of told) {
      if (usualS(other, sequence) - usualS(one, sequence) <= periodS(one) + periodS(other)) continue;
      score.pairs++;
      if (place < after) score.inOrder++;
    }
}

function scoreSequence(score: Score, sequence: TrueSequence, truth: EvidenceTruth, found: readonly Sequence[]): void {
  const name = sequence.edge === 'end' ? `${sequence.action}, end` : sequence.action;
  const steps = found.find((one) => one.name === name)?.steps ?? [];
  const told = sequence.steps.flatMap((planted): (readonly [TrueStep, number])[] => {
    const place = steps.findIndex((step) => isStep(truth, step, planted));
    return place < 0 ? [] : [[planted, place]];
  });
  score.planted += sequence.steps.length;
  score.found += told.length;
  score.sequences++;
  if (told.length === sequence.steps.length) score.whole++;
  score.listed += steps.length;
  score.strangers += steps.filter((step) => sequence.strangers.includes(trueFieldOf(truth, step)?.signal ?? '')).length;
  scoreOrder(score, sequence, truth, told);
}

describe(`sequences on ${seeds.length} machines of the evidence simulator, seeds from ${base}`, () => {
  it('tell the planted steps, in their order, and no flag that belongs to no event', { timeout: 400_000 }, async () => {
    const score: Score = {
      planted: 0,
      found: 0,
      pairs: 0,
      inOrder: 0,
      listed: 0,
      strangers: 0,
      whole: 0,
      sequences: 0,
    };
    for (const seed of seeds) {
      const { table, trueFindings, marks, truth } = makeEvidenceVehicle(seed, { recording: 'starts' });
      const moved = marksOnCapture(marks, table.origin.text, { offsetS: truth.marksOffsetS });
      const found = await findSequences({ table, findings: trueFindings, marks: moved }, {});
      for (const sequence of truth.sequences) scoreSequence(score, sequence, truth, found);
    }
    const { planted, found, pairs, inOrder, listed, strangers, whole, sequences } = score;
    console.log(
      `sequences: ${found} of ${planted} planted steps told (aim 0.9), ${whole} of ${sequences} sequences whole; ` +
        `${inOrder} of ${pairs} pairs of them in order; ${strangers} of ${listed} steps told are flags of no event`,
    );
    expect(planted).toBeGreaterThanOrEqual(15 * seeds.length);
    expect(found / planted).toBeGreaterThanOrEqual(0.85);
    expect(inOrder / pairs).toBeGreaterThanOrEqual(0.98);
    expect(strangers / listed).toBeLessThanOrEqual(0.02);
  });
});
