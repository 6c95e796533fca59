/** The order of what answers: most marks in time, then the earliest; in one moment a number before the flag that is made from it. */
import { describe, expect, it } from 'vitest';
import { rankClaims, type TimedLink } from '../../src/actions/ranking.ts';

const timed = (field: string, lagS: number, inTime: number, isNumber: boolean, surprise = 20): TimedLink => ({
  isNumber,
  intervalS: 0.02,
  lags: new Float64Array(10).fill(Number.NaN).fill(lagS, 0, inTime),
  link: {
    ...{ bus: 'can0', id: '0x100', extended: false, field, when: null },
    ...{ lsb: { byte: 0, bit: 0 }, length: 8, order: 'little', direction: 'onset' },
    ...{ effect: 1, effectSd: 3, effectInterval: [0.9, 1.1], lagS, p: 0.001, q: 0.001, n: 10, surprise, inTime },
  },
});
const orderOf = (...links: TimedLink[]): string[] => rankClaims(links).map(({ field }) => field);

describe('links of an action', () => {
  it('stand by when they answer, among those that answer as many marks', () => {
    expect(orderOf(timed('current', 0.4, 10, true, 60), timed('pedal', 0, 10, true))).toEqual(['pedal', 'current']);
  });

  it('stand last where they answer few of the marks in time, however early', () => {
    expect(orderOf(timed('before', -0.2, 3, true, 90), timed('pedal', 0, 10, true))).toEqual(['pedal', 'before']);
  });

  it('stand with the number first where a flag changes in the same moment, but not where it plainly comes before', () => {
    expect(orderOf(timed('switch', 0, 10, false, 90), timed('pedal', 0.005, 10, true))).toEqual(['pedal', 'switch']);
    expect(orderOf(timed('switch', 0, 10, false), timed('pedal', 0.2, 10, true))).toEqual(['switch', 'pedal']);
  });

  it('stand by when they answer the same marks: a reaction that scatters is in both', () => {
    // Middle lags 0.03 apart, as each missed other marks; mark by mark the pedal is never later.
    const reactions = [-0.2, -0.15, -0.1, -0.05, 0, 0.05, 0.1, 0.15, 0.2, 0.25];
    const torque = {
      ...timed('torque', 0, 9, true, 28),
      lags: Float64Array.from([...reactions.slice(0, 9), Number.NaN]),
    };
    const pedal = { ...timed('pedal', 0.03, 10, true, 31), lags: Float64Array.from(reactions, (lag) => lag - 0.002) };
    const late = { ...timed('current', 0.03, 10, true, 31), lags: Float64Array.from(reactions, (lag) => lag + 0.05) };
    expect(orderOf(torque, pedal)).toEqual(['pedal', 'torque']);
    expect(orderOf(torque, late)).toEqual(['torque', 'current']);
  });

  it('are in one moment as long as frames leave two standard deviations open', () => {
    const slow = { ...timed('enable', -0.028, 7, false, 28), intervalS: 0.1 };
    const fast = { ...timed('lever', 0, 7, true, 24), intervalS: 0.025 };
    expect(orderOf(slow, fast)).toEqual(['lever', 'enable']);
  });
});
