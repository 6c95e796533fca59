/** The order of what answers: most marks in time, then the earliest; in one moment a number before the flag that is made from it. */
import { describe, expect, it } from 'vitest';
import { rankClaims, type TimedLink } from '../../src/actions/ranking.ts';

const timed = (field: string, lagS: number, inTime: number, isNumber: boolean, surprise = 20): TimedLink => ({
  isNumber,
  intervalS: 0.02,
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
});
