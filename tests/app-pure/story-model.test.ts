/** A sequence as a story: delays from the first step of each repetition, names where given, what each repetition lacks. Common practice, no source. */
import { expect, test } from 'vitest';
import type { FieldStep, SenderStep, Sequence } from '../../src/actions/types.ts';
import { delayWords, numbersWords, storyOf, viewOf, type FieldKnown } from '../../src/app/pictures/story-model.ts';
import { stepScene } from '../../src/app/pictures/story-scene.ts';
import { recordingSurface } from '../../src/kit/drawing/recording-surface.ts';
import type { Palette } from '../../src/kit/drawing/palette.ts';

const stepOf = (part: Partial<FieldStep>): FieldStep => ({
  kind: 'field',
  answers: null,
  bus: 'can0',
  id: '0x2A0',
  extended: false,
  field: 'f',
  when: null,
  lsb: { byte: 1, bit: 0 },
  length: 2,
  order: 'little',
  from: 0,
  to: 2,
  delayMs: [0, 0],
  late: 0,
  seen: 3,
  q: 0.001,
  atS: [10, 20, 30],
  ...part,
});

const SEQUENCE: Sequence = {
  name: 'key turned: on',
  event: 'key turned',
  n: 3,
  atS: [9.8, 20.1, 29.9],
  words: '',
  steps: [
    stepOf({}),
    stepOf({
      id: '0x3B1',
      lsb: { byte: 0, bit: 4 },
      length: 1,
      to: 1,
      delayMs: [400, 900],
      seen: 2,
      atS: [10.4, null, 30.9],
    }),
  ],
};

const UNKNOWN: FieldKnown = { group: null, sender: '', name: null, states: {}, marked: {} };

test('each repetition counts from its own first step and says which steps it lacks', () => {
  const { steps, repetitions, spanS, isSure } = storyOf(SEQUENCE, () => UNKNOWN);
  expect(isSure).toBe(true);
  expect(repetitions.map(({ missing }) => missing)).toEqual([[], [2], []]);
  expect(repetitions.map(({ beginS, endS }) => [beginS, endS])).toEqual([
    [10, 10.4],
    [20, 20],
    [30, 30.9],
  ]);
  expect(steps[1]?.delayS.map((delay) => Math.round(delay * 10))).toEqual([4, Number.NaN, 9]);
  expect(spanS).toBeCloseTo(0.9);
});

test('a name given by hand is told before one that the marks tell, and a bare value last', () => {
  const known: FieldKnown = { ...UNKNOWN, name: 'pack_state', states: { 2: 'closed' }, marked: { 0: 'off', 2: 'on' } };
  const [first] = storyOf(SEQUENCE, () => known).steps;
  expect(first).toMatchObject({
    name: 'pack_state',
    from: { words: 'off', from: 'marked' },
    to: { words: 'closed', from: 'given' },
  });
  expect(storyOf(SEQUENCE, () => UNKNOWN).steps[1]).toMatchObject({
    name: 'b0.4',
    id: '0x3B1',
    to: { words: '1', from: 'raw' },
  });
});

test('a sender that begins is told with its frames, and an answer with the step that it follows', () => {
  const begins: SenderStep = {
    kind: 'begins',
    ...{ bus: 'can1', id: '0x455', extended: false, delayMs: [0, 0], late: 0, seen: 3, q: 0.001, atS: [10, 20, 30] },
    frames: [
      { bus: 'can1', id: '0x455', extended: false },
      { bus: 'can1', id: '0x460', extended: false },
    ],
  };
  const answers = { step: 0, delayMs: [20, 45], times: 3 } as const;
  const [first, second] = storyOf({ ...SEQUENCE, steps: [begins, stepOf({ answers })] }, () => UNKNOWN).steps;
  expect(first).toMatchObject({
    name: '2 frames',
    from: { words: 'silent' },
    to: { words: 'sending' },
  });
  expect(first?.answers).toBeNull();
  expect(second?.answers).toEqual({ number: 1, delay: '20 to 45 ms', times: 3 });
});

test('delays, numbers and the view are said as a person reads them', () => {
  const words = (low: number, high: number): string => delayWords({ step: stepOf({ delayMs: [low, high] }) });
  expect([words(0, 0), words(23, 37), words(326, 326), words(1230, 1640), words(2010, 2040)]).toEqual([
    'first',
    '23 to 37 ms',
    '326 ms',
    '1.2 to 1.6 s',
    '2.0 s',
  ]);
  expect(numbersWords([3, 5, 8])).toBe('3, 5 and 8');
  const { fromS, toS } = viewOf({ index: 0, atS: 9.8, beginS: 10, endS: 18, missing: [] });
  expect(fromS).toBeLessThan(9.8);
  expect(toS).toBeGreaterThan(18);
});

test('a stroke a repetition that has the step; the held one is the only one in the accent', () => {
  const palette = { accent: 'accent', rule: 'rule', ruleKey: 'key' } as Palette;
  const strokesOf = (held: number | null, color: string): number => {
    const { surface, drawn } = recordingSurface(300, 30);
    stepScene({
      delayS: [0.4, Number.NaN, 0.9],
      middleS: 0.9,
      aboveS: 0,
      belowS: null,
      spanS: 1,
      color: () => 'hue',
      isSure: true,
      held,
    })(surface, palette);
    return drawn.filter(({ what, with: given }) => what === 'line' && (given[4] as { color: string }).color === color)
      .length;
  };
  expect([strokesOf(null, 'hue'), strokesOf(null, 'accent')]).toEqual([2, 0]);
  expect([strokesOf(2, 'hue'), strokesOf(2, 'accent')]).toEqual([1, 1]);
  expect([strokesOf(1, 'hue'), strokesOf(1, 'accent')]).toEqual([2, 0]);
});
