import { describe, expect, it } from 'vitest';
import { alignReference, parseQuantity, parseReference, printReference } from '../../src/reference/reference-file.ts';
import type { Outcome } from '../../src/kit/outcome.ts';

function valueOf<T>(outcome: Outcome<T>): T {
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  return outcome.value;
}
const codesOf = (outcome: Outcome<unknown>): (readonly [string, number | undefined, number | undefined])[] =>
  outcome.ok ? [] : outcome.problems.map(({ code, place }) => [code, place?.line, place?.column] as const);

describe('parseReference', () => {
  it('reads names and units, leaves gaps out and sorts by time', () => {
    const text = 'time,pack voltage [V],speed [km/h]\n3,,12\n1,360.5,\n2,nan,11.5\n';
    const { series, timeBase } = valueOf(parseReference(text, 'r.csv'));
    expect(timeBase).toBe('capture');
    expect(series.map(({ name, unit }) => [name, unit])).toEqual([
      ['pack voltage', 'V'],
      ['speed', 'km/h'],
    ]);
    expect([...(series[0]?.timeS ?? [])]).toEqual([1]);
    expect([...(series[1]?.timeS ?? [])]).toEqual([2, 3]);
    expect([...(series[1]?.value ?? [])]).toEqual([11.5, 12]);
  });

  it('takes a decimal comma where semicolons separate, and a quantity without a unit', () => {
    const { series } = valueOf(parseReference('time;soc\n1,5;80,25\n', 'r.csv'));
    expect(series[0]).toMatchObject({ name: 'soc', unit: '' });
    expect([...(series[0]?.value ?? [])]).toEqual([80.25]);
  });

  it('names line and column of every cell that is no number', () => {
    expect(codesOf(parseReference('time,u [V]\n1,12\nx,13\n3,12V\n', 'r.csv'))).toEqual([
      ['bad-time', 3, 1],
      ['bad-value', 4, 2],
    ]);
  });

  it('refuses what is not a reference, saying what the first line must be', () => {
    expect(codesOf(parseReference('t,u\n1,2\n', 'r.csv'))[0]?.[0]).toBe('no-time-column');
    expect(codesOf(parseReference('time\n1\n', 'r.csv'))[0]?.[0]).toBe('no-quantity');
    expect(codesOf(parseReference('', 'r.csv'))[0]?.[0]).toBe('empty-table');
    expect(codesOf(parseReference('time,u\n1,2\n1573220073,3\n', 'r.csv'))[0]).toEqual([
      'mixed-time-bases',
      3,
      undefined,
    ]);
  });

  it('warns of a quantity without a reading', () => {
    const outcome = parseReference('time,u,i\n1,2,\n', 'r.csv');
    expect(outcome.ok && outcome.warnings.map(({ code }) => code)).toEqual(['no-readings']);
  });

  it('prints what it reads back, and counts from the origin exactly', () => {
    const text = 'time,u [V],i\n1573220074,2,\n1573220075.5,,4\n';
    const file = valueOf(parseReference(text, 'r.csv'));
    expect(printReference(file)).toBe(text);
    expect(alignReference(file, '1573220073.369233')[0]?.timeS[0]).toBeCloseTo(0.630767, 12);
  });

  it('parts name and unit', () => {
    expect(parseQuantity('state of charge [%]')).toEqual({ name: 'state of charge', unit: '%' });
    expect(parseQuantity('speed')).toEqual({ name: 'speed', unit: '' });
  });
});
