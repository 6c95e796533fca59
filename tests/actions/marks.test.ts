import { describe, expect, it } from 'vitest';
import { alignMarks, parseMarks, printMarks } from '../../src/actions/marks.ts';
import type { MarkFile } from '../../src/actions/types.ts';
import type { Outcome, Problem } from '../../src/kit/outcome.ts';
import { secondsSince } from '../../src/kit/time-base.ts';

function valueOf<T>(outcome: Outcome<T>): T {
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  return outcome.value;
}
function problemsOf(outcome: Outcome<MarkFile>): readonly Problem[] {
  if (outcome.ok) throw new Error('it was accepted');
  return outcome.problems;
}

describe('parseMarks', () => {
  it('reads instants and spans, quoted cells, columns in any order and an empty end', () => {
    const text = 'action,start,end,note\n"brake, hard",2.5,3.25,"said ""now"""\nkey,1,,\n';
    const { marks, timeBase } = valueOf(parseMarks(text, 'm.csv'));
    expect(timeBase).toBe('capture');
    expect(marks).toEqual([
      { action: 'key', startS: 1, endS: null },
      { action: 'brake, hard', startS: 2.5, endS: 3.25, note: 'said "now"' },
    ]);
  });

  it('takes a decimal comma where semicolons separate', () => {
    const { marks } = valueOf(parseMarks('start;end;action;value\n1,5;2,75;selector;D\n', 'm.csv'));
    expect(marks).toEqual([{ action: 'selector', startS: 1.5, endS: 2.75, value: 'D' }]);
  });

  it('reads the same as JSON, with or without a wrapper', () => {
    const list = '[{"start": 1573220073.5, "end": null, "action": "key", "value": "on"}]';
    const expected = { timeBase: 'epoch', marks: [{ action: 'key', startS: 1573220073.5, endS: null, value: 'on' }] };
    expect(valueOf(parseMarks(list, 'm.json'))).toEqual(expected);
    expect(valueOf(parseMarks(`{"marks": ${list}}`, 'm.json'))).toEqual(expected);
  });

  it('names file and line of every bad row, blank lines and line ends of all kinds counted', () => {
    const text = 'start,end,action\r\n\r\nsoon,,key\r\n5,4,brake\r\n6,x,brake\r\n7,8,\r\n';
    const found = problemsOf(parseMarks(text, 'm.csv')).map(({ code, place }) => [code, place?.file, place?.line]);
    expect(found).toEqual([
      ['bad-start', 'm.csv', 3],
      ['end-before-start', 'm.csv', 4],
      ['bad-end', 'm.csv', 5],
      ['no-action', 'm.csv', 6],
    ]);
  });

  it('counts lines inside quoted cells', () => {
    const text = 'start,end,action,note\n1,,key,"two\nlines"\nlate,,key,\n';
    expect(problemsOf(parseMarks(text, 'm.csv'))[0]?.place?.line).toBe(4);
  });

  it('refuses mixed time bases and says what to do', () => {
    const [problem] = problemsOf(parseMarks('start,end,action\n3,,key\n1573220073,,brake\n', 'm.csv'));
    expect(problem).toMatchObject({ code: 'mixed-time-bases', place: { line: 3 } });
    expect(problem?.advice).toMatch(/all as seconds from the first frame/);
  });

  it('says which column is missing, what an empty file lacks, and what is wrong with JSON', () => {
    expect(problemsOf(parseMarks('time,what\n1,key\n', 'm.csv'))[0]).toMatchObject({
      code: 'missing-column',
      place: { line: 1 },
    });
    expect(problemsOf(parseMarks('\n\n', 'm.csv'))[0]?.code).toBe('empty-table');
    expect(problemsOf(parseMarks('[{"start": 1,', 'm.json'))[0]?.code).toBe('bad-json');
    expect(problemsOf(parseMarks('[{"start": "1", "action": "key"}]', 'm.json'))[0]).toMatchObject({
      code: 'bad-start',
      place: { path: '[0]' },
    });
    expect(problemsOf(parseMarks('{"start": 1}', 'm.json'))[0]?.code).toBe('no-marks');
  });

  it('accepts a header alone: no marks yet', () => {
    expect(valueOf(parseMarks('start,end,action\n', 'm.csv'))).toEqual({ marks: [], timeBase: 'capture' });
  });
});

describe('printMarks', () => {
  it('prints what parseMarks reads back', () => {
    const marks = [
      { action: 'brake, "hard"', startS: 1.25, endS: null, value: 'D', note: ' spaced ' },
      { action: 'line\nbreak', startS: 1573220073.123, endS: 1573220074 },
    ];
    const back = valueOf(parseMarks(printMarks([marks[0] as never]), 'm.csv'));
    expect(back.marks[0]).toMatchObject({ action: 'brake, "hard"', startS: 1.25, endS: null, value: 'D' });
    expect(valueOf(parseMarks(printMarks([marks[1] as never]), 'm.csv')).marks).toEqual([marks[1]]);
  });
});

describe('alignMarks', () => {
  it('subtracts an origin that a double cannot hold', () => {
    // 1573220073.369233 as a double is off by up to 0.12 us; the whole seconds and the fraction are not.
    expect(secondsSince(1573220074, '1573220073.369233')).toBeCloseTo(0.630767, 12);
    expect(secondsSince(1573220074, '1573220073.369233')).not.toBe(1573220074 - 1573220073.369233);
    const file: MarkFile = { timeBase: 'epoch', marks: [{ action: 'key', startS: 1573220074, endS: 1573220075 }] };
    const [mark] = alignMarks(file, '1573220073.369233');
    expect(mark?.startS).toBeCloseTo(0.630767, 12);
    expect(mark?.endS).toBeCloseTo(1.630767, 12);
  });

  it('leaves marks alone that count from the capture already, and takes negative origins', () => {
    const file: MarkFile = { timeBase: 'capture', marks: [{ action: 'key', startS: 4, endS: null }] };
    expect(alignMarks(file, '1573220073.369233')).toEqual(file.marks);
    expect(secondsSince(1, '-0.25')).toBe(1.25);
  });
});
