/** All pairs of periodic identifiers held against each other: drift, phase and order, as the sums that clusters are joined by. */
import type { Steps } from '../../frames/pictures/steps.ts';
import type { ClockReading, Recorded } from './clock-reading.ts';
import type { PairSums } from './linkage.ts';
import { togetherness, type Neighbours } from './neighbours.ts';
import { ownWays } from './own-ways.ts';
import { pairDrift } from './pair-drift.ts';
import { habitEvidence, orderEvidence, phaseEvidence } from './same-clock.ts';
import { SPREAD_FIRST_PPM } from './confidence.ts';

/** Pairs between two steps. */
const PAIRS_A_STEP = 8;
/** Phases from order are good to so much, microseconds. */
const ORDER_STRAY_US = 300;

/** @param beside what is no clock's evidence, [n * n]. Cost: a bounded sum for each pair. */
export function* sumPairs(
  readings: readonly ClockReading[],
  neighbours: Neighbours,
  recorded: Recorded,
  beside: Float64Array,
): Steps<PairSums> {
  const { endUs, stepUs } = recorded;
  const n = readings.length;
  const make = (): Float64Array => new Float64Array(n * n);
  const [weight, weighted, bendWeight, weightedBend, phase, order, habit, far] = [
    make(),
    make(),
    make(),
    make(),
    make(),
    make(),
    make(),
    make(),
  ];
  for (let a = 0; a < n; a++) {
    for (let b = a + 1; b < n; b++) {
      const [one, other] = [readings[a] as ClockReading, readings[b] as ClockReading];
      const drift = pairDrift(one, other, recorded);
      const [ab, ba] = [a * n + b, b * n + a];
      weight[ab] = weight[ba] = 1 / drift.se ** 2;
      weighted[ab] = drift.ppm / drift.se ** 2;
      weighted[ba] = -(weighted[ab] as number);
      bendWeight[ab] = bendWeight[ba] = 1 / drift.bendSe ** 2;
      weightedBend[ab] = Number.isFinite(drift.bendSe) ? drift.bend / drift.bendSe ** 2 : 0;
      weightedBend[ba] = -(weightedBend[ab] as number);
      phase[ab] = phase[ba] = phaseEvidence(drift, one.levelUs === null ? stepUs : ORDER_STRAY_US);
      habit[ab] = habit[ba] = habitEvidence(drift);
      far[ab] = far[ba] = drift.isFar ? 1 : 0;
      const periodUs = Math.min(one.track.nominalUs, other.track.nominalUs);
      const scale = { slotUs: neighbours.slotUs, endUs, periodUs, spreadPpm: SPREAD_FIRST_PPM };
      const sameBus = one.stream.bus === other.stream.bus;
      const places = sameBus ? orderEvidence(togetherness(neighbours, a, b), scale) : 0;
      // Frames that begin at one command are neighbours in phase too: where stamps show the drift, order adds only that frames passed.
      order[ab] = order[ba] = one.levelUs === null ? Math.min(0, places) : places;
      if (b % PAIRS_A_STEP === 0) yield;
    }
    yield;
  }
  return {
    n,
    weight,
    weighted,
    bendWeight,
    weightedBend,
    phase,
    order,
    habit,
    far,
    beside,
    ...ownWays(readings, recorded),
  };
}
