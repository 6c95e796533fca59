/**
 * Bent ties on readings of a thermistor of our own: resistance by the beta equation (general physics, from memory), read
 * through a divider. Lines with noise must stay lines on many draws.
 */
import { sampleRankCorrelation } from 'simple-statistics';
import { describe, expect, it } from 'vitest';
import { createRandom, type Random } from '../../src/kit/random.ts';
import { robustLine } from '../../src/kit/statistics/robust-line.ts';
import { alongKnots } from '../../src/kit/statistics/monotone.ts';
import { bentTie, type Bent } from '../../src/reference/bent.ts';
import { fitFields } from '../../src/reference/fit.ts';
import type { Fit } from '../../src/reference/types.ts';
import * as world from '../actions/scenario.ts';

const ohms = (celsius: number): number => 10_000 * Math.exp(3900 * (1 / (celsius + 273.15) - 1 / 298.15));
const rawOf = (celsius: number): number => Math.round((1023 * ohms(celsius)) / (ohms(celsius) + 2200));
const N = 400;

function tie(random: Random, raw: (celsius: number) => number, noise: number): { x: Float64Array; y: Float64Array } {
  const truth = Float64Array.from(
    { length: N },
    (_, i) => 40 + 35 * Math.sin(i / 17) * Math.cos(i / 61) + random.normal(),
  );
  return { x: truth.map(raw), y: truth.map((value) => value + noise * random.normal()) };
}

function bentOf({ x, y }: { x: Float64Array; y: Float64Array }): Bent | null {
  return bentTie({ timeS: Float64Array.from(x, (_, i) => i), x, y }, robustLine(x, y, createRandom('line'), true));
}

describe('a thermistor', () => {
  const pairs = tie(createRandom('thermistor'), rawOf, 0.5);
  const bent = bentOf(pairs) as Bent;

  it('is told by rank, as a general-purpose library has it', () => {
    expect(bent.rank).toBeLessThan(-0.95);
    expect(bent.rank).toBeCloseTo(sampleRankCorrelation([...pairs.x], [...pairs.y]), 2);
  });

  it('becomes a table of few points that gives the temperature back', () => {
    expect(bent.table.length).toBeLessThan(16);
    for (const celsius of [15, 30, 45, 60])
      expect(Math.abs(alongKnots(bent.table, rawOf(celsius)) - celsius)).toBeLessThan(1);
    bent.table.slice(1).forEach(([raw, value], i) => {
      expect(raw).toBeGreaterThan((bent.table[i] as readonly [number, number])[0]);
      expect(value).toBeLessThan((bent.table[i] as readonly [number, number])[1]);
    });
  });

  it('spans every raw value that was seen: outside a table nothing is decoded', () => {
    expect(bent.table[0]?.[0]).toBe(Math.min(...pairs.x));
    expect(bent.table.at(-1)?.[0]).toBe(Math.max(...pairs.x));
  });
});

describe('no bend', () => {
  it('is seen in lines, on 60 draws', () => {
    const seen = Array.from({ length: 60 }, (_, i) =>
      bentOf(tie(createRandom(`line ${i}`), (celsius) => Math.round(celsius / 0.1 + 400), 0.3 + 0.05 * i)),
    );
    expect(seen.filter((one) => one !== null)).toEqual([]);
  });

  it('is told from a few readings', () => {
    const { x, y } = tie(createRandom('few'), rawOf, 0.5);
    expect(bentOf({ x: x.subarray(0, 40), y: y.subarray(0, 40) })).toBeNull();
  });
});

/** A field in a small world of 12 others, read by a meter every half second. */
async function fitsOf(raw: (celsius: number) => number, warmthOf: (unit: number) => number): Promise<readonly Fit[]> {
  const DURATION_S = 200;
  const random = createRandom('bent world');
  const wander = world.wander(DURATION_S, 4, random.fork('warmth'));
  const spread = Math.max(...wander.map(Math.abs));
  const warmth = wander.map((value) => warmthOf(value / spread));
  const fields: world.WorldField[] = [
    { name: 'sensor', periodS: 0.1, kind: 'states', values: warmth.map(raw) },
    ...world.bystanders(12, DURATION_S, random.fork('others')),
  ];
  const { table, frames } = world.worldOf(fields, DURATION_S, 8);
  const timeS = Float64Array.from({ length: 360 }, (_, i) => 5 + i * 0.5);
  const value = timeS.map((atS) => (warmth[Math.round(atS / world.STEP_S)] as number) + 0.4 * random.normal());
  const reference = { series: [{ name: 'coolant', unit: '°C', timeS, value }], timeBase: 'capture' as const };
  const report = await fitFields({ table, findings: frames, reference, offset: 0, seed: 1 }, {});
  return report.quantities[0]?.fits ?? [];
}

describe('fits of a world with a thermistor (seed 8)', () => {
  it('put its field first, with a table and no round scale', async () => {
    const [best] = await fitsOf(
      (celsius) => Math.round(ohms(celsius) / 10),
      (unit) => 45 + 35 * unit,
    );
    expect(best).toMatchObject({ field: 'sensor', simpleScale: null });
    expect(best?.table?.length).toBeGreaterThan(2);
    expect(best?.chance).toBeLessThan(0.01);
  });

  it('see a tie so bent that a line explains less than two fifths of it', async () => {
    const warmthOf = (unit: number): number => 60 + 90 * unit;
    const raw = (celsius: number): number => Math.round(60_000 * Math.exp(-(celsius + 30) / 9));
    const [best] = await fitsOf(raw, warmthOf);
    expect(best).toMatchObject({ field: 'sensor', simpleScale: null });
    expect(best?.r2).toBeLessThan(0.4);
    expect(Math.abs(best?.rank ?? 0)).toBeGreaterThan(0.95);
    expect(best?.table?.length).toBeGreaterThan(3);
    expect(best?.chance).toBeLessThan(0.01);
  });
});
