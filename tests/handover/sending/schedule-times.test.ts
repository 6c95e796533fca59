/** First times of a schedule: by hand. */
import { expect, it } from 'vitest';
import { firstTimes } from '../../../src/handover/sending/schedule-times.ts';
import { planSchedule } from '../../../src/handover/sending/schedule-plan.ts';
import { aChecksum, aMap, aSignal } from '../../support/map-parts.ts';
import { planned } from '../../support/plan-parts.ts';
import { needed, seen } from './schedule-run.ts';

const frame = (name: string, periodMs: number, group = 'A') =>
  needed({ name, timing: { kind: 'periodic', periodMs, jitterMs: 0 }, sender: { group, name: '', confidence: 1 } });

it('frames of one sender keep their places against each other, the first comes when it was seen to come', () => {
  const times = firstTimes([
    planned(frame('a', 10), { phaseMs: 2, firstAfterWakeMs: seen(100) }),
    planned(frame('b', 20), { phaseMs: 7, firstAfterWakeMs: seen(103) }),
    planned(frame('c', 100), { phaseMs: 50, firstAfterWakeMs: seen(170) }),
    planned(frame('d', 10), { phaseMs: 4 }),
  ]);
  // Phase 0 lies at 98: b is due at 105, 125, ...; c at 148, 248, ...; d, never seen to begin, at its first turn: 2.
  expect(times).toEqual([100, 105, 148, 2]);
});

it('another sender has a grid of its own', () => {
  const times = firstTimes([
    planned(frame('a', 10), { phaseMs: 2, firstAfterWakeMs: seen(100) }),
    planned(frame('b', 10, 'B'), { phaseMs: 5, firstAfterWakeMs: seen(31) }),
  ]);
  expect(times).toEqual([100, 31]);
});

it('the order after waking wins over the grid', () => {
  const times = firstTimes([
    planned(frame('a', 10), { phaseMs: 0, firstAfterWakeMs: seen(100), order: 1 }),
    planned(frame('slow', 100), { phaseMs: 80, firstAfterWakeMs: seen(120), order: 2 }),
  ]);
  // Its own grid has 80 and 180: 80 is nearer, but it came after a.
  expect(times).toEqual([100, 120]);
});

it('what is not known is spread, so that not all come at once', () => {
  expect(new Set(firstTimes(Array.from({ length: 20 }, () => planned(frame('a', 10))))).size).toBe(20);
});

const released = new Set(['can0/0x123']);
const why = (part: Parameters<typeof needed>[0], plan: Parameters<typeof planned>[1] = {}): string | undefined => {
  const one = needed(part);
  const { frames, leftOut } = planSchedule(aMap([one]), [planned(one, plan)], released);
  expect(frames.length + leftOut.length).toBe(1);
  return leftOut[0]?.why;
};

it('leaves out by name what a schedule cannot send, with the reason', () => {
  expect(why({})).toBeUndefined();
  expect(why({ timing: { kind: 'reply', periodMs: null, jitterMs: null, replyTo: '0x7E0' } })).toMatch(
    /0x7E0.*hears nothing/,
  );
  expect(why({ timing: { kind: 'once', periodMs: null, jitterMs: null } })).toMatch(/no waking/);
  expect(why({ timing: { kind: 'periodic', periodMs: null, jitterMs: null } })).toMatch(/period is not known/);
  expect(why({}, { periodMs: 0.01 })).toMatch(/cannot be kept/);
  expect(why({ rest: null })).toMatch(/at rest/);
  expect(why({}, { whyNotProduced: 'keyed elsewhere' })).toBe('keyed elsewhere');
  expect(why({ checksums: [aChecksum({ lsb: { byte: 7, bit: 0 }, length: 8, method: 'mac' })] })).toMatch(/secret/);
});

it('leaves out a frame whose own payload at rest speaks against its rules', () => {
  const xor = aChecksum({ lsb: { byte: 7, bit: 0 }, length: 8, method: 'xor', covers: [0, 1, 2] });
  const rest = (payload: string) => ({ payload, capture: 'c1', fromS: 0, toS: 1, marked: 'at rest' });
  expect(why({ checksums: [xor], rest: rest('01 02 04 00 00 00 00 07') })).toBeUndefined();
  expect(why({ checksums: [xor], rest: rest('01 02 04 00 00 00 00 08') })).toMatch(/do not give back/);
  const limit = aSignal({ lsb: { byte: 0, bit: 0 }, length: 8, observed: { min: 0, max: 3 } });
  expect(why({ signals: [limit], rest: rest('03 00 00 00 00 00 00 00') })).toBeUndefined();
  expect(why({ signals: [limit], rest: rest('04 00 00 00 00 00 00 00') })).toMatch(/refused/);
});
