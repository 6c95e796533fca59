/** Traces, responders, fits in words and states from marks. */
import { describe, expect, it } from 'vitest';
import { linearRegression, rSquared, linearRegressionLine } from 'simple-statistics';
import { decimalsFor, fillingsOf, heightOf, pointsOf, rangeOf, scaleFor } from '../../src/app/pictures/traces-model.ts';
import {
  effectWords,
  lagWords,
  inTurns,
  nobodyWords,
  overlayOf,
  respondersOf,
  shareWords,
} from '../../src/app/pictures/responders-model.ts';
import { formulaWords, figureWithError } from '../../src/app/places/signals/fit-words.ts';
import { lineThrough, readingsNeeded } from '../../src/app/places/signals/typed-fit.ts';
import { momentOf, proposalWords, proposeStates } from '../../src/app/places/signals/state-proposals.ts';
import { nameProblem, numberTyped, standingFrom, tidyName } from '../../src/app/places/signals/naming.ts';
import { fieldAt } from '../../src/app/pictures/bands-model.ts';
import type { Link } from '../../src/actions/types.ts';
import type { TracePicture } from '../../src/jobs/engine-types.ts';

const trace = (last: readonly number[], low = last, high = last): TracePicture => ({
  window: { fromS: 0, toS: last.length, columns: last.length },
  low: Float64Array.from(low),
  high: Float64Array.from(high),
  last: Float64Array.from(last),
  least: 0,
  greatest: 10,
});

describe('traces', () => {
  const scale = scaleFor({ least: 0, greatest: 10 }, 0, 100);
  it('puts the greatest at the top', () => {
    expect(heightOf(scale, 10)).toBe(0);
    expect(heightOf(scale, 0)).toBe(100);
  });
  it('holds a value until the next frame, and lifts the pen in a gap', () => {
    const held = pointsOf(trace([5, NaN, NaN, 5]), scale, []);
    expect(held.some(Number.isNaN)).toBe(false);
    const cut = pointsOf(trace([5, NaN, NaN, 5]), scale, [{ fromS: 1, toS: 3 }]);
    expect(cut.filter(Number.isNaN)).toHaveLength(2);
  });
  it('steps level before it jumps, so that a step is no ramp', () => {
    const points = pointsOf(trace([0, NaN, 10]), scale, []);
    expect(points.slice(0, 6)).toEqual([0.5, 100, 2, 100, 2.5, 0]);
  });
  it('draws the whole excursion of a column', () => {
    const points = pointsOf(trace([5, 5], [5, 1], [5, 9]), scale, []);
    expect(points).toContain(heightOf(scale, 1));
    expect(points).toContain(heightOf(scale, 9));
  });
  it('keeps a flat trace in the middle', () => {
    expect(heightOf(scaleFor({ least: 4, greatest: 4 }, 0, 100), 4)).toBe(50);
  });
  it('shows as many decimals as the scale resolves', () => {
    expect(decimalsFor(0.5, 5000)).toBe(0);
    expect(decimalsFor(0.5, 90)).toBe(1);
    expect(decimalsFor(0.1, 20)).toBe(1);
    expect(decimalsFor(1, 20)).toBe(0);
  });
});

const link = (more: Partial<Link>): Link => ({
  bus: 'can0',
  id: '0x1F4',
  extended: false,
  field: 'f',
  when: null,
  lsb: { byte: 2, bit: 0 },
  length: 12,
  order: 'little',
  effect: 100,
  effectSd: 24,
  effectInterval: [90, 110],
  lagS: 0.09,
  p: 0.0001,
  q: 0.0004,
  direction: 'onset',
  n: 6,
  ...more,
});

describe('responders', () => {
  it('says figures the short way', () => {
    expect([shareWords(0.0004), shareWords(0.004), shareWords(0.31)]).toEqual(['<.001', '.004', '.31']);
    expect([effectWords(31.2), effectWords(-4.21)]).toEqual(['31 sd', '−4.2 sd']);
    expect([lagWords(0.09), lagWords(0), lagWords(-0.12)]).toEqual(['+0.09', '0.00', '−0.12']);
  });
  it('says in words that a field moves only then, and which bus where there are several', () => {
    const flag = link({ effectSd: -897, moves: { at: 16, of: 16, otherwise: 0 } });
    const other = link({ bus: 'can1', effectSd: 897, moves: { at: 9, of: 16, otherwise: 1 } });
    const report = { action: 'lamp lit', marks: 16, tested: 9, words: '', links: [flag, other] };
    const rows = respondersOf(report, () => null);
    expect(rows.map(({ bus, effect, moves }) => [bus, effect, moves])).toEqual([
      ['can0', 'only then', '16 of 16, never otherwise'],
      ['can1', '>99 sd', '9 of 16, once otherwise'],
    ]);
    expect(respondersOf({ ...report, links: [flag] }, () => null)[0]?.bus).toBe('');
  });
  it('says whose answer it may rather be', () => {
    const report = { action: 'lamp lit', marks: 6, tested: 9, words: '', links: [link({ rather: ['key turned'] })] };
    expect(respondersOf(report, () => null)[0]?.rather).toBe('rather “key turned”');
    expect(respondersOf({ ...report, links: [link({})] }, () => null)[0]?.rather).toBe('');
  });
  it('keeps one row a field, in the order of the report, and only q of .05 or less', () => {
    const rows = respondersOf(
      {
        action: 'accelerator pressed',
        marks: 6,
        tested: 90,
        words: '',
        links: [
          link({}),
          link({ direction: 'level', q: 0.0001, effectSd: 40 }),
          link({ lsb: { byte: 4, bit: 0 }, length: 8, q: 0.2 }),
          link({ id: '0x0D2', q: 0.0004, effectSd: 31 }),
        ],
      },
      ({ id }) => (id === '0x1F4' ? 'torque' : null),
    );
    expect(rows.map(({ id, name, effect, direction }) => [id, name, effect, direction])).toEqual([
      ['0x1F4', 'torque', '24 sd', 'at the start'],
      ['0x0D2', 'b2.0–b3.3', '31 sd', 'at the start'],
    ]);
  });
  it('says when nobody answers more than chance would', () => {
    const words = nobodyWords({
      action: 'door',
      marks: 3,
      tested: 400,
      words: '',
      links: [link({ q: 0.7 }), link({ q: 0.4 })],
    });
    expect(words).toContain('400 tests');
    expect(words).toContain('.40');
  });
  it('lays repetitions over each other on one scale and cuts where values are missing', () => {
    const lines = overlayOf(
      { beforeS: 1.2, afterS: 5, columns: 4, rows: 2, values: Float32Array.from([0, 0, 10, 10, 0, NaN, 5, 10]) },
      40,
      20,
    );
    expect(lines).toHaveLength(2);
    expect(lines[0]?.y).toEqual([19, 19, 1, 1]);
  });
});

describe('fits in words', () => {
  it('rounds the value to its error', () => {
    expect(figureWithError(0.0056781, 0.00002)).toEqual({ value: '0.00568', error: '0.00002' });
    expect(figureWithError(12.3456, 0.12)).toEqual({ value: '12.35', error: '0.12' });
    const words = formulaWords({
      scale: 0.00568,
      scaleSe: 0.00002,
      offset: 0.02,
      offsetSe: 0.06,
      r2: 0.998,
      n: 112,
      unit: 'km/h',
    });
    expect(words).toEqual({
      scale: '0.00568',
      offset: '+ 0.02',
      unit: 'km/h',
      trust: '± 0.00002 and ± 0.06, from 112 readings; r² 0.998',
    });
  });
  it('agrees with a general statistics library on slope, intercept and r squared', () => {
    const pairs = [
      [10, 4.9],
      [22, 11.2],
      [31, 15.4],
      [48, 24.3],
      [60, 29.8],
    ] as const;
    const line = lineThrough(pairs.map(([raw, physical]) => ({ raw, physical })));
    const reference = linearRegression(pairs.map((pair) => [...pair]));
    expect(line?.scale).toBeCloseTo(reference.m, 12);
    expect(line?.offset).toBeCloseTo(reference.b, 12);
    expect(line?.r2).toBeCloseTo(
      rSquared(
        pairs.map((pair) => [...pair]),
        linearRegressionLine(reference),
      ),
      12,
    );
  });
  it('has the textbook standard error: residual variance over the spread of x', () => {
    // By hand: x 0 1 2, y 0 1 3: slope 1.5, intercept -1/6, residual sum 1/6, n - 2 = 1, sxx = 2.
    const line = lineThrough([
      { raw: 0, physical: 0 },
      { raw: 1, physical: 1 },
      { raw: 2, physical: 3 },
    ]);
    expect(line?.scale).toBeCloseTo(1.5, 12);
    expect(line?.scaleSe).toBeCloseTo(Math.sqrt(1 / 6 / 2), 12);
    expect(line?.offsetSe).toBeCloseTo(Math.sqrt((1 / 6) * (1 / 3 + 1 / 2)), 12);
  });
  it('asks for what is missing', () => {
    expect(lineThrough([{ raw: 1, physical: 2 }])).toBeNull();
    expect(
      lineThrough([
        { raw: 1, physical: 2 },
        { raw: 1, physical: 3 },
      ]),
    ).toBeNull();
    expect(readingsNeeded(null, 2)).toContain('same raw value');
    expect(
      readingsNeeded(
        lineThrough([
          { raw: 1, physical: 2 },
          { raw: 2, physical: 3 },
        ]),
        2,
      ),
    ).toContain('always fits');
  });
});

describe('states from marks', () => {
  it('proposes the word that most marks say of a raw value', () => {
    const proposals = proposeStates([
      { word: 'park', raw: 0 },
      { word: 'drive', raw: 3 },
      { word: 'drive', raw: 3 },
      { word: 'neutral', raw: 3 },
      { word: 'neutral', raw: 1 },
      { word: 'neutral', raw: 1 },
      { word: 'x', raw: NaN },
    ]);
    expect(proposals).toEqual([
      { raw: 0, name: 'park', marks: 1, against: 0 },
      { raw: 1, name: 'neutral', marks: 2, against: 0 },
      { raw: 3, name: 'drive', marks: 2, against: 1 },
    ]);
    expect(proposals.map(proposalWords)).toEqual([
      'said by 1 mark only',
      'said by 2 marks',
      'said by 2 marks, 1 says otherwise',
    ]);
  });
  it('proposes nothing where two words are said equally often', () => {
    expect(
      proposeStates([
        { word: 'a', raw: 1 },
        { word: 'b', raw: 1 },
      ]),
    ).toEqual([]);
  });
  it('looks in the middle of a span, and soon after an instant but before the next mark', () => {
    const marks = [
      { action: 'lever', startS: 10, endS: null },
      { action: 'lever', startS: 10.4, endS: null },
      { action: 'lever', startS: 20, endS: 24 },
    ];
    expect(momentOf(marks[0] as never, marks, 0)).toBeCloseTo(10.2);
    expect(momentOf(marks[1] as never, marks, -2)).toBeCloseTo(8.9);
    expect(momentOf(marks[2] as never, marks, 0)).toBe(22);
  });
});

describe('names and standing', () => {
  it('tidies what is typed and refuses what is taken', () => {
    expect([tidyName(' Motor speed '), tidyName('Öltemp. °C'), tidyName('2nd gear')]).toEqual([
      'Motor_speed',
      'Oltemp_C',
      'n2nd_gear',
    ]);
    expect(nameProblem('  ', [])).not.toBeNull();
    expect(nameProblem('motor speed', ['motor_speed'])?.message).toContain('already');
    expect(nameProblem('torque', ['motor_speed'])).toBeNull();
  });
  it('reads numbers with comma, point and true minus', () => {
    expect([numberTyped('0,5'), numberTyped('−40'), numberTyped('1e-3'), numberTyped('five'), numberTyped('')]).toEqual(
      [0.5, -40, 0.001, null, null],
    );
  });
  it('is supported by two kinds of evidence, not by two of one kind or by a name', () => {
    expect(standingFrom([{ kind: 'link' }, { kind: 'link' }, { kind: 'by-hand' }])).toBe('guess');
    expect(standingFrom([{ kind: 'link' }, { kind: 'fit' }])).toBe('supported');
    expect(standingFrom([{ kind: 'proof' }])).toBe('proven');
  });
});

describe('the range of a trace', () => {
  const far = {
    least: -32768,
    greatest: 9500,
    low: Float64Array.from([-32768, 0, 0]),
    high: Float64Array.from([0, 4000, 9500]),
  };
  it('keeps the whole capture while nothing would be flat', () => {
    expect(rangeOf({ least: 0, greatest: 10, low: Float64Array.from([0]), high: Float64Array.from([9]) })).toEqual([
      0, 10,
    ]);
  });
  it('leaves fillings out where they would flatten what is in view', () => {
    const fillings = fillingsOf({
      ...fieldAt({ lsb: { byte: 0, bit: 0 }, length: 16, order: 'little' }),
      coding: 'signed',
    });
    expect(fillings).toEqual([-32768, 32767]);
    expect(rangeOf(far)).toEqual([-32768, 9500]);
    expect(rangeOf(far, fillings)).toEqual([-475, 9500]);
  });
  it('knows no fillings of flags and states', () => {
    expect(fillingsOf(fieldAt({ lsb: { byte: 0, bit: 0 }, length: 1, order: 'little' }))).toEqual([]);
  });
});

describe('what might be named next', () => {
  it('lets every action have its first answer before any has its second', () => {
    expect(inTurns([['a1', 'a2'], ['b1'], [], ['c1', 'c2']])).toEqual(['a1', 'b1', 'c1', 'a2', 'c2']);
    expect(inTurns([])).toEqual([]);
  });
});
