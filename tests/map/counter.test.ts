import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { advanceCounter, checkContinuity, nextCounterValue, type CounterState } from '../../src/map/counter.ts';
import { aCounter } from '../support/map-parts.ts';

const counter = (part: Partial<ReturnType<typeof aCounter>> = {}) =>
  aCounter({ lsb: { byte: 0, bit: 0 }, length: 4, ...part });

/** What a sender puts out over `frames` frames. */
function sent(rule: ReturnType<typeof aCounter>, frames: number, start = rule.min): number[] {
  let state: CounterState = { value: start, sent: 0 };
  return Array.from({ length: frames }, () => {
    const { value } = state;
    state = advanceCounter(rule, state);
    return value;
  });
}

const everyTenMs = (kept: readonly number[]) => ({
  timeUs: Float64Array.from(kept, (i) => i * 10_000),
  periodUs: 10_000,
});

describe('the next value', () => {
  // The contract's rule: min + (v - min + step) mod (max - min + 1).
  it.each([
    [{}, 15, 0],
    [{ max: 14 }, 14, 0],
    [{ min: 1, max: 15 }, 15, 1],
    [{ step: -1 }, 0, 15],
    [{ step: 2 }, 15, 1],
    [{ step: -3, min: 1, max: 10 }, 2, 9],
    [{ length: 1, max: 1 }, 1, 0],
  ])('%j after %i is %i', (part, value, next) => {
    expect(nextCounterValue(counter(part), value)).toBe(next);
  });

  it('holds a value for `every` frames', () => {
    expect(sent(counter({ every: 3, max: 2 }), 10)).toEqual([0, 0, 0, 1, 1, 1, 2, 2, 2, 0]);
  });
});

describe('continuity', () => {
  it('finds nothing wrong in an unbroken run', () => {
    const result = checkContinuity(counter(), Float64Array.from(sent(counter(), 100)), null);
    expect(result).toMatchObject({
      pairs: 99,
      continued: 99,
      lost: 0,
      repeated: 0,
      jumped: 0,
      outOfRange: 0,
      distinct: 16,
    });
  });

  it('counts lost frames where the silence is long enough for them', () => {
    const kept = [...Array(60).keys()].filter((i) => ![7, 20, 21, 22].includes(i));
    const raws = Float64Array.from(kept, (i) => i % 16);
    expect(checkContinuity(counter(), raws, everyTenMs(kept))).toMatchObject({
      lost: 4,
      jumped: 0,
      continued: kept.length - 1,
    });
  });

  it('counts whole turns of the counter too', () => {
    const kept = [0, 1, 2, 2 + 18, 2 + 19];
    const raws = Float64Array.from(kept, (i) => i % 16);
    expect(checkContinuity(counter(), raws, everyTenMs(kept)).lost).toBe(17);
  });

  it('takes a skip at the usual pace for a break', () => {
    const result = checkContinuity(counter(), Float64Array.of(0, 1, 2, 9, 10, 11), everyTenMs([0, 1, 2, 3, 4, 5]));
    expect(result).toMatchObject({ jumped: 1, lost: 0, continued: 4, breaks: [3] });
  });

  it('tells a stuck counter from a running one', () => {
    const result = checkContinuity(counter(), Float64Array.of(4, 4, 4, 5), everyTenMs([0, 1, 2, 3]));
    expect(result).toMatchObject({ repeated: 2, continued: 1 });
  });

  it('counts values outside its range', () => {
    expect(checkContinuity(counter({ max: 14 }), Float64Array.of(13, 14, 15, 0), null).outOfRange).toBe(1);
  });

  it('knows values that a step never reaches', () => {
    expect(checkContinuity(counter({ step: 2 }), Float64Array.of(0, 2, 5, 7), null)).toMatchObject({
      jumped: 1,
      continued: 2,
    });
  });

  it('follows a counter that advances at every third frame, with losses', () => {
    const rule = counter({ every: 3 });
    const all = sent(rule, 200);
    const kept = [...all.keys()].filter((i) => ![10, 50, 51, 90].includes(i));
    const result = checkContinuity(
      rule,
      Float64Array.from(kept, (i) => all[i] as number),
      everyTenMs(kept),
    );
    expect(result.jumped + result.repeated).toBe(0);
    expect(result.continued).toBe(kept.length - 1);
  });

  it('accepts every run that a sender can make, whatever the rule', () => {
    const rules = fc.record({
      min: fc.integer({ min: 0, max: 5 }),
      span: fc.integer({ min: 1, max: 40 }),
      step: fc.integer({ min: -7, max: 7 }),
      every: fc.integer({ min: 1, max: 4 }),
    });
    fc.assert(
      fc.property(rules, ({ min, span, step, every }) => {
        fc.pre(step % (span + 1) !== 0);
        const rule = aCounter({ lsb: { byte: 0, bit: 0 }, length: 8, min, max: min + span, step, every });
        const result = checkContinuity(rule, Float64Array.from(sent(rule, 300)), null);
        expect(result).toMatchObject({ continued: 299, lost: 0, jumped: 0, repeated: 0, outOfRange: 0 });
      }),
    );
  });

  it('needs no table for a 32-bit counter', () => {
    const rule = counter({ length: 32, max: 2 ** 32 - 1 });
    expect(checkContinuity(rule, Float64Array.of(2 ** 32 - 1, 0, 1, 3), null)).toMatchObject({ continued: 3, lost: 1 });
  });
});
