/** Fits on a small world in which the scale of every field is known. Seeds are in the titles. */
import { describe, expect, it } from 'vitest';
import { Cancelled } from '../../src/kit/control.ts';
import { createRandom } from '../../src/kit/random.ts';
import { fitFields } from '../../src/reference/fit.ts';
import { isCoarseSpeed, simpleOffsetNear, simpleScaleNear } from '../../src/reference/simple-scale.ts';
import type { Fit, FitReport, QuantityFits, ReferenceFile, ReferenceSeries } from '../../src/reference/types.ts';
import * as world from '../actions/scenario.ts';

const DURATION_S = 240;
const SEED = 3;
const random = createRandom(SEED);
const drive = world.driveOf(DURATION_S, random.fork('drive'));

/** Raw 16-bit values as they are: kind "states" keeps the small world from laying them on its own range. */
const raw = (name: string, values: Float64Array, periodS = 0.05): world.WorldField => ({
  name,
  periodS,
  kind: 'states',
  values,
});

const torqueNm = drive.torque.map((value) => 2.1 * value - 60);
const sag = world.wander(DURATION_S, 6, random.fork('sag'));
const voltsOf = drive.torque.map((value, k) => 370 - 0.1 * value + 3 * (sag[k] as number));
const fields: world.WorldField[] = [
  raw(
    'torque',
    torqueNm.map((value) => Math.round(value / 0.125 + 65536) % 65536),
    0.02,
  ),
  raw(
    'speed',
    drive.speed.map((value) => Math.round(value / 0.05)),
  ),
  raw(
    'volts',
    voltsOf.map((value, k) => (k < 200 ? 65535 : Math.round(value / 0.1))),
  ),
  raw(
    'oil',
    world.series(DURATION_S, (k) => Math.round((20 + k * 0.0005 + 40) / 0.5)),
  ),
  ...world.bystanders(30, DURATION_S, random.fork('others')),
];
const { table, frames } = world.worldOf(fields, DURATION_S, SEED);

interface Meter {
  readonly everyS: number;
  readonly noise: number;
  readonly aheadS?: number;
  readonly wild?: number;
}

function measure(
  name: string,
  unit: string,
  truth: Float64Array,
  { everyS, noise, aheadS = 0, wild = 0 }: Meter,
): ReferenceSeries {
  const draw = createRandom(SEED).fork(name);
  const timeS: number[] = [];
  const value: number[] = [];
  for (let atS = 6; atS < DURATION_S - 5; atS += everyS) {
    timeS.push(atS + aheadS);
    const gross = draw.next() < wild ? 40 : 1;
    value.push((truth[Math.round(atS / world.STEP_S)] as number) + gross * noise * draw.normal());
  }
  return { name, unit, timeS: Float64Array.from(timeS), value: Float64Array.from(value) };
}

const fit = (
  series: ReferenceSeries[],
  offset: 'auto' | number = 0,
  base: ReferenceFile['timeBase'] = 'capture',
): Promise<FitReport> =>
  fitFields({ table, findings: frames, reference: { series, timeBase: base }, offset, seed: 1 }, {});
const only = async (series: ReferenceSeries, offset: 'auto' | number = 0): Promise<QuantityFits> =>
  (await fit([series], offset)).quantities[0] as QuantityFits;
const best = ({ fits }: QuantityFits): Fit => fits[0] as Fit;

describe(`fits of a small world (seed ${SEED}, 34 fields, ${DURATION_S} s)`, () => {
  it('finds field, scale, offset and their errors, and names the round scale', async () => {
    const found = best(await only(measure('speed', 'm/s', drive.speed, { everyS: 0.5, noise: 0.2 })));
    expect(found.field).toBe('speed');
    expect(Math.abs(found.scale - 0.05)).toBeLessThan(4 * found.scaleSe);
    expect(found.scaleSe).toBeLessThan(0.001);
    expect(found).toMatchObject({ simpleScale: 0.05, simpleOffset: 0, coding: 'unsigned' });
    expect(found.scaleInterval?.[0]).toBeLessThan(0.05);
    expect(found.scaleInterval?.[1]).toBeGreaterThan(0.05);
    expect(found.chance).toBeLessThan(1e-6);
  });

  it('names no round scale for a speed by satellite, though it is as near to one', async () => {
    const found = best(await only(measure('satellite_speed', 'km/h', drive.speed, { everyS: 0.5, noise: 0.2 })));
    expect(found).toMatchObject({ field: 'speed', simpleScale: null });
    expect(Math.abs(found.scale - 0.05)).toBeLessThan(4 * found.scaleSe);
  });

  it('finds that a field proposed as unsigned is signed', async () => {
    const found = best(await only(measure('torque', 'N m', torqueNm, { everyS: 0.5, noise: 0.5 })));
    expect(found).toMatchObject({ field: 'torque', coding: 'signed', simpleScale: 0.125, simpleOffset: 0 });
  });

  it('is not misled by a start-up value that means no data, nor by wild readings', async () => {
    const found = best(await only(measure('volts', 'V', voltsOf, { everyS: 0.5, noise: 0.1, wild: 0.05 })));
    expect(found).toMatchObject({ field: 'volts', simpleScale: 0.1 });
    expect(Math.abs(found.offset)).toBeLessThan(3);
  });

  it('finds the offset of the reference clock', async () => {
    const report = await fit([measure('speed', 'm/s', drive.speed, { everyS: 0.5, noise: 0.1, aheadS: 7.3 })], 'auto');
    expect(Math.abs(report.clockOffsetS + 7.3)).toBeLessThan(0.1);
    expect(report.clockWords).toMatch(/go together best/);
    const { curve, from } = report.clock ?? {};
    expect(from).toBe('found');
    const peak = curve?.agreement.indexOf(Math.max(...curve.agreement)) ?? -1;
    expect(Math.abs((curve?.offsetS[peak] ?? 0) + 7.3)).toBeLessThan(0.5);
    expect(report.clock?.seS).toBeGreaterThan(0);
    expect(Math.abs(report.clockOffsetS + 7.3)).toBeLessThan(4 * (report.clock?.seS ?? 0));
    // Agreement at the peak is far beyond what luck reaches, and elsewhere within 30 s it is not.
    const far = curve?.agreement.filter((_, i) => Math.abs((curve.offsetS[i] as number) + 7.3) > 15) ?? [];
    expect(curve?.agreement[peak]).toBeGreaterThan(report.clock?.chance ?? Number.POSITIVE_INFINITY);
    expect(Math.max(...far)).toBeLessThan(report.clock?.chance ?? 0);
    expect(best(report.quantities[0] as QuantityFits).field).toBe('speed');
  });

  it('finds no offset beyond luck where nothing goes with the readings, on 12 draws', async () => {
    for (let draw = 0; draw < 12; draw++) {
      const wind = world.wander(DURATION_S, 3, createRandom(`nothing ${draw}`));
      const { clock } = await fit([measure('wind', 'm/s', wind, { everyS: 0.5, noise: 0.01 })], 'auto');
      expect(Math.max(...(clock?.curve?.agreement ?? [0]))).toBeLessThan(clock?.chance ?? Number.POSITIVE_INFINITY);
    }
  });

  it('makes do with five readings, and takes their stamps as they are', async () => {
    const five = measure('volts', 'V', voltsOf, { everyS: 47, noise: 0.05 });
    expect(five.value).toHaveLength(5);
    const report = await fit([five], 'auto');
    const found = best(report.quantities[0] as QuantityFits);
    expect(report.clockOffsetS).toBe(0);
    expect(report.clock).toMatchObject({ from: 'not-needed', curve: null });
    expect(report.clockWords).toMatch(/too few readings/);
    expect(found.n).toBe(5);
    expect(found.field).toBe('volts');
  });
});

describe('not enough evidence', () => {
  it('fits nothing to what hardly changed', async () => {
    const supply = { ...measure('supply', 'V', voltsOf, { everyS: 0.5, noise: 0 }) };
    const flat = { ...supply, value: supply.value.map((_, i) => 13.8 + (i % 2) * 0.01) };
    const quantity = await only(flat);
    expect(quantity.fits).toEqual([]);
    expect(quantity.words).toMatch(/hardly changed.*wider range/);
  });

  it('fits nothing to two readings and says how many more would do', async () => {
    const two = measure('volts', 'V', voltsOf, { everyS: 200, noise: 0 });
    expect(two.value).toHaveLength(2);
    expect((await only(two)).words).toMatch(/2 readings of volts; 4 more would do/);
  });

  it('does not claim a field for a quantity that only drifts', async () => {
    const oil = measure(
      'oil',
      '°C',
      world.series(DURATION_S, (k) => 20 + k * 0.0005),
      { everyS: 1, noise: 0.3 },
    );
    const quantity = await only(oil);
    expect(best(quantity).chance).toBeGreaterThan(0.05);
    expect(quantity.words).toMatch(/only drifted/);
  });

  it('says so where nothing follows the quantity', async () => {
    const draw = createRandom('elsewhere');
    const other = measure('wind', 'm/s', world.wander(DURATION_S, 3, draw), { everyS: 0.5, noise: 0.01 });
    expect((await only(other)).words).toMatch(/no field of this capture follows wind/);
  });

  it('answers without series and stops when asked to', async () => {
    expect((await fit([], 'auto')).quantities).toEqual([]);
    const signal = { aborted: true };
    const reference: ReferenceFile = { series: [], timeBase: 'capture' };
    await expect(
      fitFields({ table, findings: frames, reference, offset: 'auto', seed: 1 }, { signal }),
    ).rejects.toThrow(Cancelled);
  });
});

describe('round scales', () => {
  it.each([
    [0.0999, 0.0003, 0.1],
    [0.1251, 0.0004, 0.125],
    [-0.00391, 0.00001, -1 / 256],
    [0.3921, 0.0003, 100 / 255],
    [0.0624, 0.0003, 0.0625],
    [0.4, 0.004, 0.4],
  ])('%f within %f is %f', (scale, half, expected) => {
    expect(simpleScaleNear(scale, half)).toBeCloseTo(expected, 10);
  });

  it('are not named where the error is wide or none is near', () => {
    expect(simpleScaleNear(0.1, 0.01)).toBeNull();
    expect(simpleScaleNear(0.0117, 0.00002)).toBeNull();
  });

  it('come with the roundest offset that the error allows', () => {
    expect(simpleOffsetNear(0.3, 0.5, 0.1)).toBe(0);
    expect(simpleOffsetNear(-39.8, 0.4, 0.5)).toBe(-40);
    expect(simpleOffsetNear(-400.02, 0.1, 0.1)).toBe(-400);
    expect(simpleOffsetNear(12.3456, 0.00001, 0.1)).toBe(12.3456);
  });

  it('are never read from a speed by satellite or dashboard', () => {
    expect(isCoarseSpeed('satellite_speed', 'km/h')).toBe(true);
    expect(isCoarseSpeed('dashboard', 'mph')).toBe(true);
    expect(isCoarseSpeed('wheel speed by lamp', 'rpm')).toBe(false);
    expect(isCoarseSpeed('pack voltage', 'V')).toBe(false);
  });
});
