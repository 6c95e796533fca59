/** The stated 95 % interval of a scale holds the truth as often as it says, where readings rest, are rounded or remember. */
import { describe, expect, it } from 'vitest';
import { createRandom, type Random } from '../../src/kit/random.ts';
import { fitDetail } from '../../src/reference/detail.ts';
import { layOnGrid } from '../../src/reference/field-grid.ts';

const TRIALS = 120;
const SCALE = 0.4;
const EVERY_S = 0.2;
const DURATION_S = 120;

/** A pedal: long rests at nothing and at a few levels, short ways between them. */
function pedal(random: Random): (atS: number) => number {
  const levels = Array.from({ length: 13 }, (_, i) => (i % 2 === 0 ? 0 : random.between(20, 90)));
  return (atS) => {
    const at = atS / 10;
    const step = Math.min(11, Math.floor(at));
    const way = Math.min(1, (at - step) * 5);
    return (levels[step] as number) + way * ((levels[step + 1] as number) - (levels[step] as number));
  };
}

type Meter = (value: number, random: Random, before: number) => { read: number; kept: number };

function covered(meter: Meter): number {
  let held = 0;
  for (let trial = 0; trial < TRIALS; trial++) {
    const random = createRandom(trial).fork('errors');
    const truth = pedal(random);
    const timeUs = Float64Array.from({ length: DURATION_S * 50 }, (_, i) => i * 20_000);
    const grid = layOnGrid(
      { timeUs, value: timeUs.map((us) => Math.round(truth(us / 1e6) / SCALE)) },
      'unsigned',
      DURATION_S,
    );
    const timeS = Float64Array.from({ length: (DURATION_S - 4) / EVERY_S }, (_, i) => 2 + i * EVERY_S);
    let kept = 0;
    const value = timeS.map((atS) => {
      const reading = meter(truth(atS), random, kept);
      kept = reading.kept;
      return reading.read;
    });
    const detail = fitDetail(grid, { name: 'p', unit: '%', timeS, value }, { shiftS: 0, seS: 0 }, random);
    if (detail && Math.abs(detail.line.scale - SCALE) <= detail.scaleHalf) held++;
  }
  return held / TRIALS;
}

/** Three standard deviations of a share of 0.95 over so many trials. */
const LEAST = 0.95 - 3 * Math.sqrt((0.95 * 0.05) / TRIALS);

describe(`the 95 % interval of a scale, ${TRIALS} drives each`, () => {
  it('holds with plain noise', () => {
    expect(covered((value, random) => ({ read: value + random.normal(), kept: 0 }))).toBeGreaterThan(LEAST);
  });

  it('holds with noise that is remembered for two seconds', () => {
    const share = Math.exp(-EVERY_S / 2);
    const meter: Meter = (value, random, before) => {
      const kept = share * before + Math.sqrt(1 - share * share) * random.normal();
      return { read: value + kept, kept };
    };
    expect(covered(meter)).toBeGreaterThan(LEAST);
  });

  it('holds with readings rounded so coarsely that noise does not stir them', () => {
    expect(
      covered((value, random) => ({ read: 3 * Math.round((value + 0.2 * random.normal()) / 3), kept: 0 })),
    ).toBeGreaterThan(LEAST);
  });
});
