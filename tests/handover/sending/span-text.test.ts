/** What is said of a span at rest: a line a topic, however many signals bear it out. */
import { expect, it } from 'vitest';
import { spanText } from '../../../src/cli/excerpt-text.ts';
import type { ExcerptAnswer } from '../../../src/handover/sending/prepare.ts';

const answer = (names: readonly string[]): ExcerptAnswer => ({
  restMarks: [],
  problems: [],
  span: { fromS: 1, toS: 3, mark: 'at rest#1' },
  check: { witnesses: names.map((name) => ({ topic: 'motion', name, n: 1 })), unwatched: ['pedal'], against: null },
  frames: [],
  keptOut: [],
  absent: [],
  cautions: [],
  phrase: '',
  rest: [],
  written: null,
});

it('names the first signals and counts the others', () => {
  const names = Array.from({ length: 30 }, (_, i) => `wheel_${i}.speed`);
  expect(spanText(answer(names)).split('\n')).toEqual([
    'Span: 1.00 to 3.00 s, of at rest#1',
    'The frames agree:',
    '- motion: wheel_0.speed (1 value), wheel_1.speed (1 value), wheel_2.speed (1 value) and 27 more',
    'only the mark tells: pedal',
  ]);
});

it('says so where nothing can tell', () => {
  expect(spanText(answer([]))).toContain('only the mark says that the vehicle was at rest');
});
