/** What Signals and Handover say without a page: residuals, values that mean none, names, what is left out. */
import { describe, expect, it } from 'vitest';
import { fieldAt } from '../../src/app/pictures/bands-model.ts';
import { fillingSeen, withNoValue } from '../../src/app/places/signals/no-value.ts';
import {
  evidenceWords,
  linkEvidence,
  rescaled,
  withEvidence,
  withLiveLinks,
} from '../../src/app/places/signals/naming.ts';
import { closerFit } from '../../src/app/places/signals/fit-words.ts';
import { addReading, removeReading, addReferenceFile, fileOf } from '../../src/app/places/signals/references.ts';
import { isWild, residualsOf, roundStep, silencesOf, spreadOf } from '../../src/app/places/signals/residuals.ts';
import { runsOf } from '../../src/app/places/signals/state-runs.ts';
import { leftOutOf } from '../../src/app/places/handover/left-out.ts';
import { emptyDossier, type Dossier } from '../../src/jobs/dossier.ts';
import { newCapture } from '../../src/app/stores/dossier.ts';

const signal = {
  ...fieldAt({ lsb: { byte: 0, bit: 0 }, length: 16, order: 'little' as const }),
  name: 'speed',
  coding: 'signed' as const,
};

describe('residuals', () => {
  const atS = [0, 1, 2, 3, 4, 20, 21];
  const raw = [0, 1, 2, 3, 4, 5, 6];
  const reference = [0.1, 0.9, 2.1, 2.9, 4.1, 4.9, 90];
  const residuals = residualsOf(atS, reference, raw, { scale: 1, offset: 0 });
  it('are reference less fitted value', () => {
    expect(residuals[0]?.left).toBeCloseTo(0.1, 12);
    expect(residuals[1]?.left).toBeCloseTo(-0.1, 12);
  });
  it('have a spread that two in three lie within, whatever a wild one does', () => {
    expect(spreadOf(residuals)).toBeCloseTo(0.1, 12);
    expect(residuals.filter((residual) => isWild(residual, spreadOf(residuals))).map(({ atS: at }) => at)).toEqual([
      21,
    ]);
    expect(spreadOf(residuals.slice(0, 2))).toBeNaN();
  });
  it('leave out readings without a value', () => {
    expect(residualsOf([0, 1], [1, 2], [NaN, 2], { scale: 1, offset: 0 })).toHaveLength(1);
  });
  it('find where there was no reference, and round steps', () => {
    expect(silencesOf(atS)).toEqual([{ fromS: 4, toS: 20 }]);
    expect([roundStep(0.37), roundStep(7), roundStep(2.5)]).toEqual([0.2, 5, 2]);
  });
});

describe('values that mean none', () => {
  it('are seen at an end of what was observed, and left out once', () => {
    const seen = { ...signal, observed: { min: -32768, max: 9500 } };
    expect(fillingSeen(seen)).toEqual({ raw: 32768, physical: -32768 });
    const without = withNoValue(seen, 32768, { min: -20, max: 9500 });
    expect(without.invalid).toEqual([{ from: 32768, to: 32768, meaning: 'no value' }]);
    expect(fillingSeen(without)).toBeNull();
    expect(fillingSeen({ ...signal, observed: { min: -120, max: 9500 } })).toBeNull();
  });
  it('are found behind a scale', () => {
    const scaled = rescaled({ ...signal, observed: { min: -32768, max: 100 } }, 0.5, 0);
    expect(scaled.observed).toEqual({ min: -16384, max: 50 });
    expect(fillingSeen(scaled)?.raw).toBe(32768);
  });
});

describe('evidence', () => {
  const frame = { bus: 'can0', id: '0x1F4', extended: false };
  const link = {
    ...frame,
    field: 'f',
    when: null,
    lsb: { byte: 0, bit: 0 },
    length: 16,
    order: 'little' as const,
    effect: 5,
    effectSd: 9,
    effectInterval: [4, 6] as const,
    lagS: 0.1,
    p: 0.001,
    q: 0.002,
    direction: 'onset' as const,
    n: 6,
  };
  it('is taken from links of this very field that are sure enough', () => {
    const actions = [
      { action: 'pressed', links: [link] },
      { action: 'other', links: [{ ...link, q: 0.3 }] },
    ];
    expect(linkEvidence(signal, frame, actions, 'c1')).toMatchObject([
      { kind: 'link', action: 'pressed', capture: 'c1', q: 0.002 },
    ]);
    expect(linkEvidence(signal, { ...frame, bus: 'can1' }, actions, 'c1')).toEqual([]);
  });
  it('follows the marks: links of the last report replace those before, a fit stays', () => {
    const fitted = withEvidence(signal, { kind: 'fit', capture: 'c1', quantity: 'speed', r2: 0.99 });
    const linked = withLiveLinks(fitted, frame, [{ action: 'pressed', links: [link] }], 'c1');
    expect(linked.standing).toBe('supported');
    expect(withLiveLinks(linked, frame, [], 'c1')).toMatchObject({ standing: 'guess', evidence: [{ kind: 'fit' }] });
  });
  it('is said with its figure', () => {
    expect(evidenceWords({ kind: 'fit', quantity: 'speed', r2: 0.9984 })).toEqual({
      what: 'Fit to speed',
      figure: 'r² 0.998',
    });
    expect(evidenceWords({ kind: 'link', action: 'pressed', q: 0.0001 })).toEqual({
      what: 'Answers “pressed”',
      figure: 'q <.001',
    });
  });
});

describe('readings and references', () => {
  const dossier: Dossier = { ...emptyDossier(), captures: [newCapture('c1', 'first', 'main')] };
  it('keep readings in the order of time, one an instant, and forget the last', () => {
    const quantity = { name: 'speed', unit: 'rpm' };
    const two = addReading(addReading(dossier, 'c1', quantity, { atS: 5, value: 10 }), 'c1', quantity, {
      atS: 2,
      value: 4,
    });
    const again = addReading(two, 'c1', quantity, { atS: 5, value: 11 });
    expect(again.captures[0]?.references).toMatchObject([{ from: 'typed', timeS: [2, 5], value: [4, 11] }]);
    expect(removeReading(removeReading(again, 'c1', 'speed', 0), 'c1', 'speed', 0).captures[0]?.references).toEqual([]);
  });
  it('a file replaces an earlier one of the same quantity, and is fitted with those on its clock', () => {
    const series = (value: number) => [
      { name: 'speed', unit: 'km/h', timeS: Float64Array.of(1, 2), value: Float64Array.of(value, value) },
    ];
    const once = addReferenceFile(dossier, 'c1', { timeBase: 'capture', series: series(1) });
    const twice = addReferenceFile(once, 'c1', { timeBase: 'capture', series: series(2) });
    const references = twice.captures[0]?.references ?? [];
    expect(references).toHaveLength(1);
    expect([...(fileOf(references, references[0] as never).series[0]?.value ?? [])]).toEqual([2, 2]);
  });
});

describe('states over time', () => {
  it('are runs of one value, held between frames and cut in gaps', () => {
    const last = Float64Array.of(3, NaN, 3, 1, NaN, NaN, 1);
    const picture = { window: { fromS: 0, toS: 7, columns: 7 }, low: last, high: last, last, least: 1, greatest: 3 };
    expect(runsOf(picture, [{ fromS: 4, toS: 6 }])).toEqual([
      { fromS: 0, toS: 3, raw: 3 },
      { fromS: 3, toS: 4, raw: 1 },
      { fromS: 6, toS: 7, raw: 1 },
    ]);
  });
});

describe('left out of the map', () => {
  it('names identifiers without an entry, those the logger sent, and refused fields', () => {
    const seen = [
      { bus: 'can0', id: '0x100', extended: false, count: 1, direction: 'received' as const },
      { bus: 'can0', id: '0x101', extended: false, count: 90, direction: 'sent' as const },
    ];
    const out = leftOutOf({ map: { frames: [] } as never, seen, refused: [{ id: '0x1F4', place: 'b5' }] });
    expect(out.map(({ name, why }) => [name, why])).toEqual([
      ['0x100', 'sent once, nothing learnt'],
      ['0x101', 'sent by the logger itself, not by the vehicle'],
      ['0x1F4 b5', 'refused by hand'],
    ]);
  });
});

it('says that a field only goes along where another outdoes it by far, not where one is nearly as good', () => {
  expect(closerFit(0.82, [{ r2: 0.9999 }, { r2: 0.9 }])).toEqual({ r2: 0.9999 });
  expect(closerFit(0.82, [{ r2: 0.9 }])).toBeNull();
  expect(closerFit(0.9999, [{ r2: 0.9999 }])).toBeNull();
  expect(closerFit(0.5, [])).toBeNull();
});
