import { describe, expect, it } from 'vitest';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import { runSteps } from '../../src/frames/pictures/steps.ts';
import { matchBuses } from '../../src/proof/buses.ts';
import { compareTables } from '../../src/proof/compare.ts';
import { compareProfiles } from '../../src/proof/compare/compare-profiles.ts';
import { rateOf } from '../../src/proof/compare/errors.ts';
import { comparisonProfile } from '../../src/proof/compare/profile.ts';

type Source = (tick: number) => number[];
/** Frames of each identifier every `periodMs` for a minute; the key is "bus/id". */
function capture(sources: Record<string, { periodMs: number; data: Source; until?: number }>) {
  const frames: PlainFrame[] = Object.entries(sources).flatMap(([key, { periodMs, data, until = 60 }]) => {
    const [bus, id] = key.split('/') as [string, string];
    const count = Math.floor((1000 * until) / periodMs);
    // A few microseconds of spread, as on any bus.
    return Array.from({ length: count }, (_, i) => ({
      timeUs: Math.round(i * periodMs * 1000 + ((i * 7919) % 97)),
      bus,
      id: Number(id),
      data: data(i),
    }));
  });
  return buildTable(frames);
}

const ramp: Source = (i) => [i & 255, (i >> 2) & 255, 7, 1];
const whole = capture({
  'can0/0x100': { periodMs: 10, data: ramp },
  'can0/0x101': { periodMs: 20, data: ramp },
  'can0/0x102': { periodMs: 100, data: ramp },
  'can1/0x200': { periodMs: 10, data: ramp },
  'can1/0x201': { periodMs: 50, data: ramp },
});

describe('a module unplugged, adapter leads swapped', () => {
  const without = capture({
    'can1/0x100': { periodMs: 10, data: (i) => [i & 255, 0xff, 7, 1] },
    'can1/0x101': { periodMs: 40, data: ramp },
    'can1/0x300': { periodMs: 100, data: ramp },
    'can0/0x200': { periodMs: 10, data: (i) => [i & 255, 3, 9, 1] },
    'can0/0x201': { periodMs: 50, data: (i) => (i < 300 ? ramp(i) : ramp(300)) },
  });
  const found = compareTables(whole, without);
  const short = ({ bus, id }: { bus: string; id: string }) => `${bus} ${id}`;

  it('matches the buses by their identifiers', () => {
    expect(found.buses).toEqual({ can0: 'can1', can1: 'can0' });
  });
  it('finds what is only in one', () => {
    expect(found.onlyInA.map(short)).toEqual(['can0 0x102']);
    expect(found.onlyInA[0]).toMatchObject({ count: 600, expected: 600 });
    expect(found.onlyInB.map(short)).toEqual(['can1 0x300']);
  });
  it('finds the changed period and no other', () => {
    expect(found.timingChanged).toHaveLength(1);
    const [change] = found.timingChanged;
    expect(change).toMatchObject({ bus: 'can0', id: '0x101', extended: false });
    expect(change?.periodMsA).toBeCloseTo(20, 2);
    expect(change?.periodMsB).toBeCloseTo(40, 2);
  });
  it('says how payload bytes changed', () => {
    expect(found.payloadChanged).toMatchObject([
      { bus: 'can0', id: '0x100', extended: false, bytes: [1], how: 'filling' },
      { bus: 'can1', id: '0x200', extended: false, bytes: [1], how: 'became constant' },
      { bus: 'can1', id: '0x200', extended: false, bytes: [2], how: 'other constant' },
      { bus: 'can1', id: '0x201', extended: false, bytes: [0, 1], how: 'frozen' },
    ]);
  });
});

describe('nothing is claimed where nothing changed', () => {
  it('finds no difference between a capture and itself', () => {
    const { onlyInA, onlyInB, timingChanged, payloadChanged, errors, warnings } = compareTables(whole, whole);
    expect({ onlyInA, onlyInB, timingChanged, payloadChanged, errors, warnings }).toEqual({
      onlyInA: [],
      onlyInB: [],
      timingChanged: [],
      payloadChanged: [],
      errors: [],
      warnings: [],
    });
  });
  it('takes no byte for constant that seldom moved before', () => {
    const seldom = capture({ 'can0/0x100': { periodMs: 100, data: (i) => [i < 300 ? 1 : 2] } });
    const still = capture({ 'can0/0x100': { periodMs: 100, data: () => [2] } });
    expect(compareTables(seldom, still).payloadChanged).toEqual([]);
  });
  it('sees the way back too', () => {
    const still = capture({ 'can0/0x100': { periodMs: 10, data: () => [0xff, 5] } });
    const moving = capture({ 'can0/0x100': { periodMs: 10, data: (i) => [i & 255, i & 15] } });
    expect(compareTables(still, moving).payloadChanged.map(({ how }) => how)).toEqual([
      'filling ended',
      'began to move',
    ]);
  });
  it('takes buses as told', () => {
    expect(compareTables(whole, whole, { busMap: { can0: 'can1', can1: 'can0' } }).onlyInA).toHaveLength(5);
  });
});

const receivedOnly = { 'can0/0x100': { periodMs: 10, data: ramp }, 'can0/0x101': { periodMs: 20, data: ramp } };

describe('the missing module', () => {
  const full = capture({
    ...receivedOnly,
    'can0/0x102': { periodMs: 10, data: ramp },
    'can0/0x200': { periodMs: 10, data: ramp },
    'can0/0x201': { periodMs: 50, data: ramp },
    'can0/0x202': { periodMs: 100, data: ramp },
  });
  const without = capture({
    'can0/0x100': { periodMs: 10, data: (i) => [i & 255, 0xff, 7, 1] },
    'can0/0x101': { periodMs: 80, data: ramp },
    'can0/0x102': { periodMs: 10, data: (i) => [i & 255, (i >> 2) & 255, 7, i > 500 ? 0x81 : 1] },
  });
  const { absent } = compareTables(full, without);
  it('sent what is silent', () => {
    expect(absent.sentBy.map(({ id }) => id).sort()).toEqual(['0x200', '0x201', '0x202']);
    expect(absent.why).toContain('3 identifiers are silent together');
  });
  it('is missed by who slows down, says "no data" or sets a flag', () => {
    expect(absent.reacts.map(({ id, how }) => `${id} ${how}`).sort()).toEqual([
      '0x100 no data',
      '0x101 slower',
      '0x102 flag began',
    ]);
    expect(absent.reacts.find(({ id }) => id === '0x101')).toMatchObject({ how: 'slower', bytes: [] });
    expect(absent.reacts.find(({ id }) => id === '0x100')?.bytes).toEqual([1]);
  });
  it('may let another begin, and says which capture had that one', () => {
    const began = compareTables(
      full,
      capture({
        'can0/0x100': { periodMs: 10, data: ramp },
        'can0/0x101': { periodMs: 20, data: ramp },
        'can0/0x102': { periodMs: 10, data: ramp },
        'can0/0x300': { periodMs: 100, data: ramp },
      }),
    ).absent.reacts.find(({ how }) => how === 'starts');
    expect(began?.id).toBe('0x300');
    expect(began?.why).toMatch(
      /^only in the second: there it came every 100 ms; missing from the first for the \d+ s in which it was due, /,
    );
    expect(began?.why).toContain('while the second was never without it');
    expect(began?.why).not.toContain('the first was never without it');
  });
  it('is not asked for where nothing is silent', () => {
    const { sentBy, reacts } = compareTables(receivedOnlyTable, capture({ ...receivedOnly, ...slower })).absent;
    expect({ sentBy, reacts }).toEqual({ sentBy: [], reacts: [] });
  });
  it('is not named where more falls silent than one module sends', () => {
    // Clocks of their own, far apart: five senders.
    const apart = [0x100, 0x101, 0x102, 0x103, 0x104].map(
      (id, at) => [`can0/0x${id.toString(16)}`, { periodMs: 10 + 0.004 * at, data: ramp }] as const,
    );
    const { sentBy, undecided, why } = compareTables(
      capture(Object.fromEntries(apart)),
      capture(Object.fromEntries(apart.slice(0, 1))),
    ).absent;
    expect(sentBy).toEqual([]);
    expect(undecided).toHaveLength(4);
    expect(why).toContain('another state');
  });
});
const slower = { 'can0/0x101': { periodMs: 80, data: ramp } };
const receivedOnlyTable = capture(receivedOnly);

describe('what is missing for another reason', () => {
  const events = (timesS: readonly number[]) =>
    timesS.map((atS) => ({ timeUs: atS * 1e6, bus: 'can0', id: 0x300, data: [1] }));
  const steady = (id: number) =>
    Array.from({ length: 3000 }, (_, i) => ({
      timeUs: i * 20_000 + ((i * 7919) % 97),
      bus: 'can0',
      id,
      data: ramp(i),
    }));
  const beside = [0x100, 0x101, 0x102, 0x103].flatMap(steady);
  it('leaves two events of a minute open', () => {
    const { absent } = compareTables(buildTable([...beside, ...events([12, 40])]), buildTable(beside));
    expect(absent.sentBy).toEqual([]);
    expect(absent.undecided.map(({ id }) => id)).toEqual(['0x300']);
  });
  it('leaves open what only came while another was there, who is not there either', () => {
    // 0x104 comes with 0x300 in the second half of the first capture; the second capture has neither of those states.
    const late = steady(0x104).filter(({ timeUs }) => timeUs > 40e6);
    const { absent } = compareTables(buildTable([...beside, ...late]), buildTable(beside));
    expect(absent.sentBy).toEqual([]);
  });
  it('takes a bus that was not recorded for no module', () => {
    const elsewhere = [0x500, 0x501].flatMap(steady).map((frame) => ({ ...frame, bus: 'can1' }));
    const { absent, warnings } = compareTables(buildTable([...beside, ...elsewhere]), buildTable(beside));
    expect(absent.sentBy.filter(({ confidence }) => confidence > 0.7)).toEqual([]);
    expect(warnings.map(({ code }) => code)).toContain('bus-without-partner');
  });
});

describe('a span of a capture', () => {
  it('is compared with another of the same', () => {
    const stops = capture({
      ...receivedOnly,
      'can0/0x102': { periodMs: 10, data: ramp },
      'can0/0x103': { periodMs: 10, data: ramp, until: 30 },
    });
    const [before, after] = [
      { fromS: 0, toS: 29 },
      { fromS: 31, toS: 60 },
    ].map((span) => runSteps(comparisonProfile(stops, span)));
    expect(compareProfiles(before!, after!).onlyInA.map(({ id }) => id)).toEqual(['0x103']);
    expect(compareProfiles(before!, after!).absent.sentBy.map(({ id }) => id)).toEqual(['0x103']);
  });
});

describe('error frames', () => {
  it('are compared by rates with intervals', () => {
    const profile = (errorTimesS: readonly number[]) => ({
      ...runSteps(comparisonProfile(receivedOnlyTable)),
      buses: [
        {
          name: 'can0',
          frames: 1,
          wakings: [],
          errors: { count: errorTimesS.length, firstS: errorTimesS[0] ?? null, perSecond: new Uint32Array(60) },
        },
      ],
    });
    const [compared] = compareProfiles(profile([]), profile(Array.from({ length: 120 }, (_, i) => 3 + i / 4))).errors;
    expect(compared).toMatchObject({ bus: 'can0', perSecondA: 0, verdict: 'appeared', startsS: 3 });
    expect(compared?.rateB.low).toBeLessThan(compared?.perSecondB ?? 0);
    expect(compareProfiles(profile([1, 2]), profile([4, 5, 6])).errors[0]?.verdict).toBe('alike');
  });
  // Exact 95 % limits of a Poisson mean for 10 counts: 4.795 to 18.390 (Garwood 1936, Biometrika 28; values from memory).
  it('has Poisson limits as published', () => {
    const { low, high } = rateOf(10, 1);
    expect(low).toBeCloseTo(4.795, 1);
    expect(high).toBeCloseTo(18.39, 1);
  });
});

describe('buses', () => {
  const ids = (...names: string[]) => new Set(names);
  it('are told apart by what a gateway does not copy', () => {
    const a = new Map([
      ['p', ids('1', '2', '3', '9')],
      ['q', ids('1', '2', '3', '5')],
    ]);
    const b = new Map([
      ['q', ids('1', '2', '3', '9')],
      ['p', ids('1', '2', '3', '5')],
    ]);
    expect([...matchBuses(a, b)]).toEqual([
      ['p', 'q'],
      ['q', 'p'],
    ]);
  });
  it('may lack a partner', () => {
    expect([
      ...matchBuses(
        new Map([
          ['p', ids('1')],
          ['q', ids('2')],
        ]),
        new Map([['x', ids('1')]]),
      ),
    ]).toEqual([
      ['p', 'x'],
      ['q', null],
    ]);
  });
});
