/** A fit as the page keeps it in the map: in the signal's own unit, with round figures that belong together, and curves as tables. */
import { describe, expect, it } from 'vitest';
import { bentAs, isTaken, keptLine } from '../../src/app/places/signals/kept-line.ts';
import { fittedAt, residualsOf } from '../../src/app/places/signals/residuals.ts';
import { blankSignal } from '../../src/map/blank-signal.ts';
import type { MapSignal } from '../../src/map/schema.ts';
import type { Fit } from '../../src/reference/types.ts';

const place = { lsb: { byte: 0, bit: 0 }, length: 8, order: 'little' } as const;
const signal: MapSignal = {
  ...blankSignal(place, 'oil'),
  coding: 'unsigned',
  kind: 'number',
  confidence: 1,
  unit: '°C',
};
const line = { scale: 0.9, scaleSe: 0.01, offset: -39.2, offsetSe: 0.5, r2: 0.99, n: 100, lagS: 0 };
const chosen = { from: 'file', name: 'oil', unit: '°F', timeBase: 'capture', timeS: [], value: [] } as const;
const fit: Fit = {
  ...line,
  ...place,
  bus: 'can0',
  id: '0x1',
  extended: false,
  field: 'oil',
  coding: 'unsigned',
  when: null,
  simpleScale: 0.9,
  simpleOffset: -40,
  scaleInterval: [0.899, 0.901],
  offsetInterval: [-40.9, -37.5],
  range: { min: 0, max: 200 },
};

describe('the line that is kept', () => {
  it('is in the unit of the signal', () => {
    const kept = keptLine(signal, { line, fit, chosen });
    expect(kept?.unit).toBe('°C');
    expect(kept?.line.scale).toBeCloseTo(0.5, 9);
    expect(kept?.line).toMatchObject({ simpleScale: 0.5, simpleOffset: -40 });
  });

  it('is in the unit of the readings where the signal has none, or one of another kind', () => {
    expect(keptLine({ ...signal, unit: '' }, { line, fit, chosen })).toMatchObject({
      unit: '°F',
      line: { scale: 0.9 },
    });
    expect(keptLine({ ...signal, unit: 'V' }, { line, fit, chosen })).toMatchObject({
      unit: '°F',
      line: { scale: 0.9 },
    });
    expect(keptLine(signal, { line: null, fit: null, chosen })).toBeNull();
  });

  it('is converted for readings typed at the cursor as well', () => {
    expect(keptLine(signal, { line, fit: null, chosen })?.line).toMatchObject({ simpleScale: null });
    expect(keptLine(signal, { line, fit: null, chosen })?.line.scale).toBeCloseTo(0.5, 9);
  });
});

describe('a curve', () => {
  const table = [
    [0, 120],
    [100, 60],
    [255, -40],
  ] as const;
  const kept = keptLine({ ...signal, unit: '°F' }, { line, fit: { ...fit, table }, chosen });

  it('becomes the table of the signal, and is in use from then on', () => {
    const bent = bentAs({ ...signal, unit: '°F' }, kept?.table ?? []);
    expect(bent).toMatchObject({ table, scale: 1, offset: 0, observed: { min: -40, max: 120 } });
    expect(kept && isTaken(bent, kept)).toBe(true);
    expect(kept && isTaken(signal, kept)).toBe(false);
  });

  it('is what readings are held against', () => {
    expect(fittedAt({ ...line, table }, 50)).toBe(90);
    expect(residualsOf([1], [95], [50], { ...line, table })).toEqual([{ atS: 1, raw: 50, reference: 95, left: 5 }]);
  });
});
