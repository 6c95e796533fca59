/** Exports for sending of the page without a page: which frames go and how each is released, and which span is taken. */
import { describe, expect, it } from 'vitest';
import { choosing, needsItsName, releaseName, withoutRelease } from '../../src/app/places/handover/sending/choosing.ts';
import { mayBeSaved } from '../../src/app/places/handover/sending/confirm-store.ts';
import { planIn } from '../../src/app/places/handover/sending/planned-in.ts';
import { chosenSpan } from '../../src/app/places/handover/sending/span.ts';
import { restMarks } from '../../src/handover/sending/rest-spans.ts';
import { keepAlivePlan } from '../../src/handover/needs/plan.ts';
import { aFrame, aMap, aSignal } from '../support/map-parts.ts';

const rest = { payload: '00 00 00 00 00 00 00 00', capture: 'c1', fromS: 0, toS: 2 };
const part = aFrame({ id: '0x120', name: 'part_status', role: 'sent-by-part', rest });
const lamps = aFrame({ id: '0x210', name: 'lamps', rest });
const pedals = aFrame({
  id: '0x220',
  name: 'pedals',
  rest,
  signals: [aSignal({ name: 'torque_wanted', role: 'command', lsb: { byte: 0, bit: 0 }, length: 8 })],
});
const request = aFrame({ id: '0x7E0', name: 'tester', rest });
const map = aMap([part, lamps, pedals, request]);
const names = (frames: readonly { readonly frame: { readonly name: string } }[]): string[] =>
  frames.map(({ frame }) => frame.name);

describe('frames', () => {
  it('none by itself; the part’s own never', () => {
    const { going, waiting, never } = choosing(map, [], 'live');
    expect(going).toEqual([]);
    expect(names(waiting)).toEqual(['lamps', 'pedals', 'tester']);
    expect(names(never)).toEqual(['part_status']);
  });

  it('one at a time, by name or by bus and identifier; what names nothing releases nothing and is told', () => {
    const { going, idle } = choosing(map, ['lamps', 'can0/0x220', 'part_status', 'nobody'], 'live');
    expect(names(going)).toEqual(['lamps', 'pedals']);
    expect(idle).toEqual(['part_status', 'nobody']);
  });

  it('what may move the machine, and a tester’s request, have to be written out', () => {
    expect([lamps, pedals, request].map(needsItsName)).toEqual([false, true, true]);
  });

  it('a release is kept by the name where only one frame has it, and taken back however it was named', () => {
    expect(releaseName(map, lamps)).toBe('lamps');
    const twice = aMap([lamps, aFrame({ id: '0x211', name: 'lamps' })]);
    expect(releaseName(twice, lamps)).toBe('can0/0x210');
    expect(withoutRelease(['lamps', 'can0/0x210', 'pedals'], lamps)).toEqual(['pedals']);
  });
});

describe('the span', () => {
  const marks = [
    { action: 'at rest', startS: 5, endS: 9 },
    { action: 'brake pedal pressed', startS: 6, endS: 7 },
    { action: 'at rest', startS: 20, endS: 30 },
    { action: 'parked', startS: 40, endS: 50 },
  ];
  const spans = restMarks(marks, 60);

  it('the first that may be taken, or the one that was chosen as long as it may', () => {
    expect(chosenSpan(spans, null, 'c1')).toBe(spans[1]);
    expect(chosenSpan(spans, { capture: 'c1', action: 'parked', number: 1 }, 'c1')).toBe(spans[2]);
    expect(chosenSpan(spans, { capture: 'c1', action: 'at rest', number: 1 }, 'c1')).toBe(spans[1]);
    expect(chosenSpan(spans, { capture: 'c2', action: 'parked', number: 1 }, 'c1')).toBe(spans[1]);
    expect(chosenSpan([], null, 'c1')).toBeNull();
  });
});

describe('the phrase', () => {
  it('is needed wherever something is sent', () => {
    expect(mayBeSaved('', 'send lamps to the part bcdf')).toBe(false);
    expect(mayBeSaved('Send  lamps to the part bcdf ', 'send lamps to the part bcdf')).toBe(true);
    expect(mayBeSaved('', '')).toBe(true);
  });
});

it('the plan speaks of the frames with the payloads at rest that were taken from the span', () => {
  const marked = aMap(map.frames.map((frame) => ({ ...frame, rest: { ...rest, payload: '01' } })));
  const plan = planIn(keepAlivePlan(map), marked);
  expect(plan.frames.length).toBeGreaterThan(0);
  for (const { frame } of plan.frames) expect(frame.rest?.payload).toBe('01');
});
