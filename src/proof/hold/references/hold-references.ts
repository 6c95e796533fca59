/** A map's scales held against what was measured beside the capture, and against what its own modules answered a tester. */
import type { FrameTable } from '../../../frames/table.ts';
import { checkpoint, part, type Control } from '../../../kit/control.ts';
import { createRandom, type Random } from '../../../kit/random.ts';
import type { MapSignal } from '../../../map/schema.ts';
import { clockOfFew, tryFewReadings, type OverLags } from '../../../reference/few-readings.ts';
import { quantityOf } from '../../../reference/setting.ts';
import type { Shift } from '../../../reference/shift.ts';
import type { ReferenceSeries } from '../../../reference/types.ts';
import type { HeldSignal } from '../held-signal.ts';
import type { CountsFor } from '../counts.ts';
import { addAspect, notExercised, type Aspects, type Judgement, type ToldAspect } from '../told.ts';
import type { ProofReference } from '../types.ts';
import { readingsOf, type GivenReference, type Readings } from './readings.ts';
import { judgeScale } from './scale.ts';
import { inMapUnit, spokenOf, type SpokenOf } from './spoken-of.ts';

interface Quantity {
  /** On the capture's clock, in its own unit. */
  readonly series: ReferenceSeries;
  readonly spoken: readonly SpokenOf[];
}

const isFew = (series: ReferenceSeries): boolean => !quantityOf(series).dense;

export interface HeldReferences {
  readonly aspects: Aspects;
  readonly references: readonly ProofReference[];
}

/** When readings by hand were taken: the signals of all of them together say it. */
function fewClock(quantities: readonly Quantity[], countsFor: CountsFor): Shift {
  const told = quantities
    .filter(({ series }) => isFew(series))
    .map(({ series, spoken }) => {
      const trials = spoken.flatMap(({ held }): { r2: number; overLags?: OverLags }[] => {
        const counts = countsFor(held);
        return counts ? [tryFewReadings(counts.grid, series, 0)] : [];
      });
      return { trials: trials.sort((a, b) => b.r2 - a.r2) };
    });
  return clockOfFew(told, 0);
}

interface Ground {
  readonly readings: Readings;
  readonly few: Shift;
  readonly countsFor: CountsFor;
  readonly random: Random;
}

function judge({ series }: Quantity, { held, conversion, by }: SpokenOf, ground: Ground): Judgement {
  const { readings, few, countsFor, random } = ground;
  const { whyNot } = quantityOf(series);
  if (whyNot !== null) return notExercised(whyNot);
  const dense = !isFew(series);
  if (dense && !readings.isKnown) return notExercised(readings.words);
  const counts = countsFor(held);
  if (!counts) return notExercised(`it rests while ${series.name} moves`);
  const asked = {
    counts,
    series: inMapUnit(series, conversion),
    few: dense ? null : few,
    seS: readings.seS,
    isNamed: by === 'fit',
  };
  return judgeScale(asked, random);
}

/** O(readings x signals that they speak of). Deterministic for one seed. */
export async function holdReferences(
  given: readonly GivenReference[],
  table: FrameTable,
  signals: readonly HeldSignal[],
  countsFor: CountsFor,
  seed: number,
  control: Control,
): Promise<HeldReferences> {
  const aspects = new Map<MapSignal, readonly ToldAspect[]>();
  const references: ProofReference[] = [];
  for (const [index, one] of given.entries()) {
    const own = part(control, index / given.length, (index + 1) / given.length);
    const readings = await readingsOf(one, table, signals, seed, part(own, 0, 0.7));
    const quantities = readings.series.map((series): Quantity => {
      const spoken = signals.map((held) => spokenOf(series, held)).filter((each) => each !== null);
      return { series, spoken };
    });
    const few = fewClock(quantities, countsFor);
    const random = createRandom(seed).fork('held references');
    for (const [at, quantity] of quantities.entries()) {
      const { name, unit, value } = quantity.series;
      await checkpoint(own, 0.7 + (0.3 * at) / quantities.length, `scales against ${name}`);
      const judgements = quantity.spoken.map((each) => {
        const told = { aspect: 'scale' as const, ...judge(quantity, each, { readings, few, countsFor, random }) };
        addAspect(aspects, each.held.compiled.signal, told);
        return told;
      });
      const count = (verdict: Judgement['verdict']): number =>
        judgements.filter((each) => each.verdict === verdict).length;
      references.push({
        name,
        unit,
        readings: value.length,
        clockOffsetS: readings.offsetS,
        clockWords: readings.words,
        holds: count('holds'),
        fails: count('fails'),
        notExercised: count('not-exercised'),
      });
    }
  }
  return { aspects, references };
}
