/** Which step answers another sender's request: by construction, a request at each repetition and what follows it 60 ms later. */
import { describe, expect, it } from 'vitest';
import { answersOf, type AnswerSide } from '../../src/actions/answers.ts';

const REPETITIONS = [10, 42, 77, 120];

const sideOf = (sender: string | null, laterS: number, wish: Partial<AnswerSide> = {}): AnswerSide => {
  const atS = REPETITIONS.map((each) => each + laterS);
  return {
    atS,
    changes: atS.map((each) => ({ atS: each, from: 0, to: 1 })),
    sender,
    isFlag: true,
    intervalS: 0.02,
    ...wish,
  };
};
const request = sideOf('A', 0);

describe('a step that follows another one by 60 ms each time', () => {
  it('answers it where another sender says it', () => {
    expect(answersOf([request, sideOf('B', 0.06)])).toEqual([null, { step: 0, delayMs: [60, 60], times: 4 }]);
  });

  it('answers nothing where the same sender says it, or nobody knows who', () => {
    expect(answersOf([request, sideOf('A', 0.06)])).toEqual([null, null]);
    expect(answersOf([request, sideOf(null, 0.06)])).toEqual([null, null]);
  });

  it('answers nothing where the other is no flag, or it came without it once in the capture', () => {
    expect(answersOf([sideOf('A', 0, { isFlag: false }), sideOf('B', 0.06)])).toEqual([null, null]);
    const changes = [...sideOf('B', 0.06).changes, { atS: 200, from: 0, to: 1 }];
    expect(answersOf([request, sideOf('B', 0.06, { changes })])).toEqual([null, null]);
  });

  it('answers nothing beyond the time in which partners on a bus answer', () => {
    expect(answersOf([request, sideOf('B', 0.6)])).toEqual([null, null]);
  });
});
