import { beforeAll, describe, expect, it } from 'vitest';
import { generateC } from '../../../src/handover/c/source.ts';
import type { SignalMap } from '../../../src/map/schema.ts';
import { requireGcc } from '../../support/compile-c.ts';
import { aFrame, aMap, aSelector, aSignal } from '../../support/map-parts.ts';
import { printed } from './held.ts';

beforeAll(requireGcc);

type Sequence = SignalMap['sequences'][number];
type Step = Sequence['steps'][number];

const RESULTS = ['idle', 'waiting', 'done', 'late', 'early', 'out of order'];

const timing = { kind: 'periodic', periodMs: 10, jitterMs: 0 } as const;
/** Frames a, b, c of a key that goes on: a byte each that says a state; c has it on page 1 only. */
const frames = [
  aFrame({
    name: 'a',
    id: '0x100',
    length: 2,
    timing,
    signals: [aSignal({ name: 'state', lsb: { byte: 0, bit: 0 }, length: 8 })],
  }),
  aFrame({
    name: 'b',
    id: '0x101',
    length: 2,
    timing,
    signals: [aSignal({ name: 'state', lsb: { byte: 0, bit: 0 }, length: 8 })],
  }),
  aFrame({
    name: 'c',
    id: '0x102',
    length: 2,
    timing,
    selectors: [aSelector({ lsb: { byte: 1, bit: 0 }, length: 1 })],
    signals: [aSignal({ name: 'state', lsb: { byte: 0, bit: 0 }, length: 8, when: { page: [1] } })],
  }),
];

const step = (id: string, from: number, to: number, delayMs: [number, number], seen = 5): Step => ({
  ...{ bus: 'can0', id, signal: 'state', from, to, group: null, delayMs, seen },
});

/** Margin of each window: 20 ms, or half of its width. */
const keyOn: Sequence = {
  name: 'key on',
  event: 'key on',
  n: 5,
  steps: [
    step('0x100', 0, 1, [0, 0]),
    step('0x101', 0, 3, [100, 140]),
    step('0x102', 0, 2, [200, 260]),
    step('0x100', 1, 0, [300, 340]),
    step('0x101', 3, 4, [400, 440], 2),
  ],
};

/** Frames that come at a time in ms, as [ms, name, state, page]; what `follow` says at the end, and the step. */
function followed(
  arrivals: readonly (readonly [number, string, number, number?])[],
  endMs: number,
  sequence = keyOn,
): string {
  const code = generateC(aMap(frames, { sequences: [sequence], requires: ['when'] }), {
    cautions: [],
    scaling: 'integer',
  });
  const calls = arrivals.map(
    ([ms, name, state, page = 1]) =>
      `p[0] = ${state}u; p[1] = ${page}u; now = base + ${ms * 1000}u; sm_receive(&r, SM_BUS_CAN0, SM_${name.toUpperCase()}_ID, 0, p, 2u, now); sm_sequence_key_on_follow(&q, &r, now);`,
  );
  const text = printed(
    code,
    // Near the end of 32 bits, so that the clock wraps in the middle.
    `sm_receiver r; sm_sequence_key_on q; uint8_t p[2] = {0u, 1u}; const uint32_t base = 4294867296u; uint32_t now;
     memset(&q, 0, sizeof q); sm_receiver_init(&r);
     for (now = 0u; now < 3u; now++) (void)sm_receive(&r, SM_BUS_CAN0, 0x100u + now, 0, p, 2u, base - 10000u);
     sm_sequence_key_on_begin(&q, &r, base);
     ${calls.join('\n')}
     printf("%u %u", sm_sequence_key_on_follow(&q, &r, base + ${endMs * 1000}u), (unsigned)q.all.step);`,
  );
  const [result = 0, at = 0] = text.split(' ').map(Number);
  return `${RESULTS[result]} ${at}`;
}

/** The sequence as it ought to be. */
const GOOD = [
  [50, 'a', 1],
  [170, 'b', 3],
  [280, 'c', 2],
  [370, 'a', 0],
] as const;

describe('a sequence', () => {
  it('is done when every step that was always seen has come; one that sometimes stayed away may', () => {
    expect(followed(GOOD, 380)).toBe('done 3');
    expect(followed([...GOOD, [470, 'b', 4]], 480)).toBe('done 3');
  });

  it('waits for the first step that is open', () => {
    expect(followed([], 60)).toBe('waiting 0');
    expect(followed(GOOD.slice(0, 2), 180)).toBe('waiting 2');
  });

  it('is late where a step does not come in its window and margin, and says which', () => {
    // Step 2 was seen up to 260 ms after the first, which came at 50 ms; its margin is 30 ms.
    expect(followed(GOOD.slice(0, 2), 340)).toBe('waiting 2');
    expect(followed(GOOD.slice(0, 2), 341)).toBe('late 2');
    expect(followed([...GOOD.slice(0, 2), [345, 'c', 2]], 400)).toBe('late 2');
    expect(followed([], 2000)).toBe('waiting 0');
    expect(followed([], 2001)).toBe('late 0');
  });

  it('is early where a step comes before its window, though all before it have come', () => {
    // Step 1 was seen from 100 ms; its margin is 20 ms.
    expect(followed([GOOD[0], [129, 'b', 3]], 130)).toBe('early 1');
    expect(followed([GOOD[0], [130, 'b', 3]], 131)).toBe('waiting 2');
  });

  it('is out of order where a step comes before one that was always there before it, and stays so', () => {
    expect(followed([GOOD[0], [270, 'c', 2]], 271)).toBe('late 1');
    expect(followed([GOOD[0], [120, 'c', 2], [170, 'b', 3]], 400)).toBe('out of order 2');
    expect(followed([[100, 'b', 3]], 101)).toBe('out of order 1');
  });

  it('takes a state that was there at the event for no step, and what another page says for nothing', () => {
    const already = { ...keyOn, steps: [step('0x100', 1, 0, [0, 0])] };
    expect(followed([[10, 'a', 0]], 20, already)).toBe('waiting 0');
    expect(
      followed(
        [
          [10, 'a', 7],
          [20, 'a', 0],
        ],
        21,
        already,
      ),
    ).toBe('done 0');
    expect(followed([...GOOD.slice(0, 2), [280, 'c', 2, 0]], 290)).toBe('waiting 2');
  });

  it('sees frames that begin', () => {
    const presence = [
      {
        bus: 'can0',
        id: '0x101',
        what: 'begins' as const,
        group: null,
        delayMs: [20, 30] as [number, number],
        seen: 5,
      },
    ];
    const begins = { ...keyOn, steps: [step('0x100', 0, 1, [0, 0])], presence };
    // b was heard just before the event: only when it has timed out (50 ms) and comes back has it begun.
    expect(
      followed(
        [
          [50, 'a', 1],
          [60, 'b', 0],
        ],
        65,
        begins,
      ),
    ).toBe('waiting 1');
    const code = generateC(aMap(frames, { sequences: [begins] }), { cautions: [] });
    const body = `sm_receiver r; sm_sequence_key_on q; uint8_t p[2] = {0u, 1u}; sm_receiver_init(&r);
      sm_sequence_key_on_begin(&q, &r, 0u);
      (void)sm_receive(&r, SM_BUS_CAN0, 0x100u, 0, p, 2u, 10u); (void)sm_sequence_key_on_follow(&q, &r, 10u);
      p[0] = 1u; (void)sm_receive(&r, SM_BUS_CAN0, 0x100u, 0, p, 2u, 20u); (void)sm_sequence_key_on_follow(&q, &r, 20u);
      (void)sm_receive(&r, SM_BUS_CAN0, 0x101u, 0, p, 2u, 25020u); printf("%u", sm_sequence_key_on_follow(&q, &r, 25020u));`;
    expect(printed(code, body)).toBe('2');
  });

  it('says what it cannot check, and has no code where nothing can be', () => {
    const stranger = { ...keyOn, steps: [...keyOn.steps, { ...step('0x7FF', 0, 1, [10, 20]), signal: '*/ "' }] };
    const { header } = generateC(aMap(frames, { sequences: [stranger] }), { cautions: [] });
    expect(header).toContain('not checked: can0 0x7FF * / ": not in the map');
    const none = generateC(aMap(frames, { sequences: [{ ...keyOn, steps: [] }] }), { cautions: [] });
    expect(none.header).not.toContain('sm_sequence');
  });
});
