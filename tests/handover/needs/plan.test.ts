/** The keep-alive plan from what captures show, case by case: reasons, verdicts, order, phases, what is open. */
import { describe, expect, it } from 'vitest';
import { keepAlivePlan } from '../../../src/handover/needs/plan.ts';
import type { KeepAlivePlan, PlannedFrame } from '../../../src/handover/needs/types.ts';
import { withNeeds } from '../../../src/handover/needs/with-needs.ts';
import type { MapFrame } from '../../../src/map/schema.ts';
import { aFrame, aMap } from '../../support/map-parts.ts';
import { absence, keyOf, lostCode, observed, seenFrame, startsAt } from './observed.ts';

const other = (id: string, more: Partial<MapFrame> = {}): MapFrame =>
  aFrame({ id, name: `frame_${id}`, role: 'other', sender: { group: 'B', name: 'brake', confidence: 1 }, ...more });
const ofPart = (id: string): MapFrame => aFrame({ id, name: `part_${id}`, role: 'sent-by-part' });
const map = aMap([ofPart('0x1F4'), ofPart('0x7EA'), other('0x200'), other('0x210')]);

const planned = ({ frames }: KeepAlivePlan, id: string): PlannedFrame => {
  const found = frames.find(({ frame }) => frame.id === id);
  if (!found) throw new Error(`${id} is not planned`);
  return found;
};
const kinds = (plan: KeepAlivePlan, id: string): string[] =>
  planned(plan, id).reasons.map(({ kind, speaksFor }) => `${kind} ${speaksFor}`);
const stops = { ...keyOf('0x1F4'), how: 'stops with it', confidence: 0.95, words: 'silent' };

describe('from the map alone', () => {
  const plan = keepAlivePlan(map);

  it('holds what the part does not send, with no phase, no order, and says why', () => {
    expect(plan.frames.map(({ frame }) => frame.id)).toEqual(['0x200', '0x210']);
    expect(plan.captures).toEqual([]);
    for (const frame of plan.frames) expect(frame).toMatchObject({ phaseMs: null, order: null, need: 'untested' });
    expect(plan.open.join('\n')).toMatch(/No capture was looked at/);
  });

  it('asks who the part is where no frame is marked as its own', () => {
    expect(keepAlivePlan(aMap([other('0x200')])).open[0]).toMatch(/No frame of the map is marked as sent by the part/);
  });
});

describe('the start after a waking', () => {
  const seen = observed(
    [
      seenFrame('0x1F4', startsAt(50, 52, 49)),
      seenFrame('0x200', startsAt(10, 12, 9)),
      seenFrame('0x210', startsAt(80, 40, 90)),
    ],
    { wakings: [0, 30, 60].map((fromS) => ({ bus: 'can0', fromS })) },
  );
  const plan = keepAlivePlan(map, [seen]);

  it('puts frames in the order of their first ones, over all wakings', () => {
    expect(planned(plan, '0x200')).toMatchObject({
      order: 1,
      firstAfterWakeMs: { midMs: 10, lowMs: 9, highMs: 12, n: 3 },
    });
    expect(planned(plan, '0x210').order).toBe(2);
  });

  it('gives a reason only where the order never turned', () => {
    expect(kinds(plan, '0x200')).toEqual(['order needed']);
    expect(planned(plan, '0x200').reasons[0]?.words).toMatch(
      /40 ms before .* each of 3 wakings: the part may wait for it$/,
    );
    expect(kinds(plan, '0x210')).toEqual([]);
  });

  it('says that one waking may be chance', () => {
    const once = observed([seenFrame('0x1F4', startsAt(50)), seenFrame('0x200', startsAt(10))]);
    expect(planned(keepAlivePlan(map, [once]), '0x200').reasons[0]?.words).toMatch(/one waking says little/);
  });
});

describe('a module missing', () => {
  it('that sends two frames: one of them is needed, which is not known', () => {
    const plan = keepAlivePlan(map, [], [absence(['0x200', '0x210'], { reactions: [stops] })]);
    expect(kinds(plan, '0x200')).toEqual(['absence needed']);
    expect(planned(plan, '0x200').reasons[0]?.words).toMatch(/one of these 2 frames/);
    expect(plan.frames.map(({ need }) => need)).toEqual(['untested', 'untested']);
    expect(withNeeds(map, plan)).toBe(map);
  });

  it('that sends one frame, nobody else reacting: its need is shown, and stands in the map with its evidence', () => {
    const plan = keepAlivePlan(map, [], [absence(['0x200'], { reactions: [stops] })]);
    expect(planned(plan, '0x200').need).toBe('required');
    const need = withNeeds(map, plan).frames.find(({ id }) => id === '0x200')?.need;
    expect(need).toMatchObject({ verdict: 'required', how: 'absence', evidence: [{ capture: 'without brake' }] });
    expect(withNeeds(map, plan).frames.find(({ id }) => id === '0x210')?.need.verdict).toBe('untested');
  });

  it.each([
    ['another sender reacts as well', { reactions: [stops, { ...stops, ...keyOf('0x210') }] }],
    ['something else may be missing', { reactions: [stops], undecided: [keyOf('0x300')] }],
    ['the reaction is not sure', { reactions: [{ ...stops, confidence: 0.75 }] }],
  ])('shows no need where %s', (_, more) => {
    const plan = keepAlivePlan(map, [], [absence(['0x200'], more)]);
    expect(planned(plan, '0x200').need).toBe('untested');
    expect(kinds(plan, '0x200')).toEqual(['absence needed']);
  });

  it('without any answer of the part speaks against a need, and not where the part was not heard', () => {
    expect(kinds(keepAlivePlan(map, [], [absence(['0x200'])]), '0x200')).toEqual(['absence not-needed']);
    const deaf = keepAlivePlan(map, [], [absence(['0x200'], { observations: observed([]) })]);
    expect(kinds(deaf, '0x200')).toEqual([]);
    expect(deaf.open.join('\n')).toMatch(/no frame of the part was heard/);
  });

  it('that is the part itself tells nothing', () => {
    const plan = keepAlivePlan(map, [], [absence(['0x1F4'])]);
    expect(plan.frames.flatMap(({ reasons }) => reasons)).toEqual([]);
    expect(plan.open.join('\n')).toMatch(/only frames of the part itself fell silent/);
  });

  it('and the part silent with it: needed, or without supply', () => {
    const plan = keepAlivePlan(map, [], [absence(['0x1F4', '0x200'])]);
    expect(planned(plan, '0x200').reasons[0]?.words).toMatch(/fell silent too.*or it lost its supply/);
  });

  it('never overrides what a bench trial wrote', () => {
    const tried = aMap([ofPart('0x1F4'), other('0x200', { need: { verdict: 'not-required', how: 'bench' } })]);
    const plan = keepAlivePlan(tried, [], [absence(['0x200'], { reactions: [stops] })]);
    expect(planned(plan, '0x200').need).toBe('not-required');
    expect(withNeeds(tried, plan)).toBe(tried);
  });
});

describe('codes of lost communication', () => {
  const stored = (more = {}) =>
    absence(['0x200'], {
      observations: observed([seenFrame('0x1F4')], {
        capture: 'without brake',
        lostCodes: [lostCode('0x7EA', 'U0121')],
        ...more,
      }),
    });

  it('that came with the absence of one frame show its need', () => {
    const before = observed([], { askedForFaults: [keyOf('0x7EA')] });
    const plan = keepAlivePlan(map, [before], [stored()]);
    expect(planned(plan, '0x200').need).toBe('required');
    expect(planned(plan, '0x200').reasons[0]).toMatchObject({ kind: 'lost-communication-code', speaksFor: 'needed' });
    expect(planned(plan, '0x200').reasons[0]?.words).toContain(
      'U0121 (lost communication with anti-lock brake control)',
    );
    const need = withNeeds(map, plan).frames.find(({ id }) => id === '0x200')?.need;
    expect(need).toMatchObject({ verdict: 'required', how: 'lost-communication-code' });
  });

  it('show nothing where they were there before, or where nobody asked before', () => {
    const old = observed([], { askedForFaults: [keyOf('0x7EA')], lostCodes: [lostCode('0x7EA', 'U0121')] });
    expect(kinds(keepAlivePlan(map, [old], [stored()]), '0x200')).toEqual(['absence not-needed']);
    expect(planned(keepAlivePlan(map, [], [stored()]), '0x200').need).toBe('untested');
  });

  it('of a module that is not known to be the part are an open question', () => {
    const strange = stored({ lostCodes: [lostCode('0x7E9', 'U0100')] });
    expect(keepAlivePlan(map, [], [strange]).open.join('\n')).toMatch(/answers at 0x7E9 tells U0100/);
  });
});

describe('phases', () => {
  const phase = (ms: number, anchor = '0x210') => ({ phase: { ms, spreadMs: 0.1, n: 500, anchor: keyOf(anchor) } });

  it('hold where captures agree, across the end of the period too, and not where they differ', () => {
    const both = (second: number): KeepAlivePlan =>
      keepAlivePlan(map, [
        observed([seenFrame('0x200', phase(9.9)), seenFrame('0x210', phase(0))]),
        observed([seenFrame('0x200', phase(second)), seenFrame('0x210', phase(0))], { capture: 'c2' }),
      ]);
    expect(planned(both(0.1), '0x200').phaseMs).toBe(9.9);
    expect(planned(both(4), '0x200')).toMatchObject({
      phaseMs: null,
      phaseWhy: 'it lies elsewhere in another capture',
    });
  });

  it('are counted from one frame of the sender only', () => {
    const plan = keepAlivePlan(map, [
      observed([seenFrame('0x200', phase(3)), seenFrame('0x210', phase(0))]),
      observed([seenFrame('0x200', phase(0, '0x200'))], { capture: 'c2' }),
    ]);
    expect(planned(plan, '0x200').phaseMs).toBe(3);
  });
});

it('says of a ring that its frames cannot be replayed', () => {
  const ring = { network: { kind: 'ring' as const, why: 'network management by a ring, node 3' } };
  const plan = keepAlivePlan(map, [observed([seenFrame('0x200', ring)])]);
  expect(planned(plan, '0x200').whyNotProduced).toMatch(/rest|ring/);
  expect(kinds(plan, '0x200')).toEqual(['network needed']);
});

it('lists what is needed first', () => {
  const plan = keepAlivePlan(map, [], [absence(['0x210'], { reactions: [stops] })]);
  expect(plan.frames.map(({ frame }) => frame.id)).toEqual(['0x210', '0x200']);
});
