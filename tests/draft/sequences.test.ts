/** Steps in the words of a map: by the signal's name there; a sender that begins or falls silent stands beside them. */
import { expect, it } from 'vitest';
import type { FieldStep, SenderStep, Sequence } from '../../src/actions/types.ts';
import { toMapSequences } from '../../src/draft/sequences.ts';
import { stepsInOrder } from '../../src/handover/report/sections/sequences.ts';
import { blankSignal } from '../../src/map/blank-signal.ts';
import { signalMapSchema, type MapFrame, type SignalMap } from '../../src/map/schema.ts';

const told = { bus: 'can0', extended: false, delayMs: [0, 12], seen: 5, late: 0, q: 0.001, atS: [] } as const;
const place = { lsb: { byte: 1, bit: 2 }, length: 1, order: 'little' } as const;
const begins: SenderStep = { kind: 'begins', ...told, id: '0x2A0', frames: [] };
const silent: SenderStep = { ...begins, kind: 'falls-silent', delayMs: [60, 72] };
const closes: FieldStep = {
  kind: 'field',
  ...told,
  delayMs: [20, 32],
  ...place,
  id: '0x2A0',
  field: 'f',
  when: null,
  from: 0,
  to: 1,
  answers: null,
};
const sequence: Sequence = { name: 'key', event: 'key', n: 5, atS: [], words: '', steps: [begins, closes, silent] };
const frame = {
  bus: 'can0',
  id: '0x2A0',
  extended: false,
  sender: { group: 'C', name: '', confidence: 0.9 },
  signals: [blankSignal(place, 'closed')],
} as unknown as MapFrame;

it('a sender that begins or falls silent is no step, as no signal changes, and stands beside them', () => {
  const [told] = toMapSequences([sequence], [frame]);
  expect(told?.steps.map(({ signal, from, to, group }) => [signal, from, to, group])).toEqual([['closed', 0, 1, 'C']]);
  expect(told?.presence).toEqual([
    { bus: 'can0', id: '0x2A0', what: 'begins', group: 'C', delayMs: [0, 12], seen: 5, q: 0.001 },
    { bus: 'can0', id: '0x2A0', what: 'falls-silent', group: 'C', delayMs: [60, 72], seen: 5, q: 0.001 },
  ]);
  expect(signalMapSchema.shape.sequences.safeParse([told]).success).toBe(true);
  // The report has all of it in order of time.
  const map = { sequences: [told], frames: [frame] } as unknown as SignalMap;
  const steps = stepsInOrder(map, map.sequences[0] as SignalMap['sequences'][number]);
  expect(steps.map(({ what, group }) => [what, group])).toEqual([
    ['begins to be sent', 'C'],
    ['closed: 0 to 1', 'C'],
    ['is sent no more', 'C'],
  ]);
});

it('a step of a frame that the map lacks is left out', () => {
  expect(toMapSequences([sequence], [])).toEqual([]);
});
