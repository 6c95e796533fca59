import { beforeAll, describe, expect, it } from 'vitest';
import { generateC } from '../../../src/handover/c/source.ts';
import type { MapFrame } from '../../../src/map/schema.ts';
import { requireGcc } from '../../support/compile-c.ts';
import { aChecksum, aCounter, aFrame, aMap } from '../../support/map-parts.ts';
import { heard, PERIOD_US, periodic, value, type Arrival } from './hearing.ts';
import { compiled, printed } from './held.ts';

beforeAll(requireGcc);

describe('silence', () => {
  it('never heard, heard and timed out are told apart; a late counter starts anew', () => {
    const frame = { ...periodic, counters: [aCounter({ lsb: { byte: 1, bit: 0 }, length: 4 })] };
    const code = generateC(aMap([{ ...frame, name: 'f' }]), { cautions: [] });
    expect(code.header).toContain('#define SM_F_TIMEOUT_US UINT32_C(50000) /* a guess: 5 periods and the jitter */');
    const tell =
      'printf("%u %u %.0f %u\\n", (unsigned)r.f.arrival.state, (unsigned)r.f.values.value_valid, r.f.values.value, (unsigned)r.f.alive.verdict);';
    const text = printed(
      code,
      `sm_receiver r; const uint8_t a[] = {7u, 3u}; const uint8_t b[] = {8u, 9u}; sm_receiver_init(&r);
       sm_expire(&r, 4000000000u); ${tell}
       sm_receive(&r, SM_BUS_CAN0, SM_F_ID, 0, a, sizeof a, 4294960000u); ${tell}
       sm_expire(&r, 4294960000u + 50000u); ${tell}
       sm_expire(&r, 4294960000u + 50001u); ${tell}
       sm_expire(&r, 4294960000u + 3000000000u); ${tell}
       sm_receive(&r, SM_BUS_CAN0, SM_F_ID, 0, b, sizeof b, 12345u); ${tell}
       sm_expire(&r, 12000u); ${tell}`,
    );
    expect(text.split('\n')).toEqual(['4 4 0 0', '1 1 7 1', '1 1 7 1', '3 3 7 1', '3 3 7 1', '1 1 8 1', '1 1 8 1']);
  });

  it('frames with a wrong checksum or a counter that stays do not stop the timeout', () => {
    const frame = {
      ...periodic,
      length: 3,
      rest: null,
      counters: [aCounter({ lsb: { byte: 1, bit: 0 }, length: 4 })],
      checksums: [aChecksum({ lsb: { byte: 2, bit: 0 }, length: 8, method: 'xor', covers: [0, 1] })],
    };
    const good = (at: number, counter: number): Arrival => ({
      bytes: [at, counter, at ^ counter],
      atUs: at * PERIOD_US,
    });
    const broken = (at: number): Arrival => ({ bytes: [at, 1, 0xff], atUs: at * PERIOD_US });
    const told = heard(frame, [
      good(0, 0),
      broken(1),
      broken(2),
      good(3, 0),
      good(4, 0),
      broken(5),
      broken(6),
      good(7, 0),
    ]);
    expect(told.map(({ status }) => status)).toEqual([0, 3, 3, 6, 6, 3, 3, 0]);
    expect(told.map(({ state }) => state)).toEqual([...new Array<string>(6).fill('valid'), 'timed out', 'valid']);
    expect(told.map(({ value: kept }) => kept)).toEqual([0, 0, 0, 0, 0, 0, 0, 7]);
    expect(told.at(-1)?.verdict).toBe('first');
  });

  it.each([
    [
      { kind: 'periodic', periodMs: 10, jitterMs: 1, timeoutMs: 33, timeoutFrom: 'bench' },
      '33000',
      'found on the bench',
    ],
    [{ kind: 'mixed', periodMs: 100, jitterMs: 0.5 }, '503000', 'a guess: 5 periods'],
    [
      {
        kind: 'periodic',
        periodMs: 10,
        jitterMs: 0,
        byMode: { asleep: { kind: 'periodic', periodMs: 1000, jitterMs: 0 } },
      },
      '5000000',
      'a guess',
    ],
    [{ kind: 'on-change', periodMs: null, jitterMs: null }, '0', 'never: it is not sent periodically'],
  ] as const)('timeouts say where they are from: %j', (timing, us, words) => {
    const { header } = generateC(aMap([aFrame({ name: 'f', timing: timing as MapFrame['timing'] })]), { cautions: [] });
    expect(header).toContain(`#define SM_F_TIMEOUT_US UINT32_C(${us}) /* ${words}`);
  });
});

describe('which frame it is', () => {
  it('by bus, kind and identifier; strangers are counted, short ones refused, longer ones taken', () => {
    const frames = [
      aFrame({ name: 'a', id: '0x10', length: 1, signals: [value] }),
      aFrame({ name: 'b', id: '0x10', extended: true, length: 1, signals: [value] }),
      aFrame({ name: 'c', id: '0x10', bus: 'can1', length: 1, signals: [value] }),
      aFrame({ name: 'd', id: '0x7FF', length: 2, signals: [value] }),
    ];
    const call = (bus: string, id: string, extended: number, length: number): string =>
      `printf("%d ", (int)sm_receive(&r, ${bus}, ${id}u, ${extended}, p, ${length}u, 0u)); p[0]++;`;
    const text = printed(
      generateC(aMap(frames), { cautions: [] }),
      `sm_receiver r; uint8_t p[8] = {1u}; sm_receiver_init(&r);
       ${call('SM_BUS_CAN0', '0x10', 0, 1)} ${call('SM_BUS_CAN0', '0x10', 1, 1)} ${call('SM_BUS_CAN1', '0x10', 0, 8)}
       ${call('SM_BUS_CAN0', '0x7FF', 0, 1)} ${call('SM_BUS_CAN1', '0x7FF', 0, 8)} ${call('SM_BUS_CAN1', '0x10', 1, 8)}
       ${call('7u', '0x10', 0, 8)}
       printf("%.0f %.0f %.0f %u %u", r.a.values.value, r.b.values.value, r.c.values.value, (unsigned)r.d.values.value_valid, (unsigned)r.unknown);`,
    );
    expect(text).toBe('0 0 0 2 7 7 7 1 2 3 4 3');
  });

  it('frames without bytes, without signals, and with nothing but a counter compile strictly, in both scalings', () => {
    const frames = [
      aFrame({ name: 'empty', id: '0x1', length: 0, rest: { payload: '', capture: 'c1', fromS: 0, toS: 1 } }),
      aFrame({ name: 'bare', id: '0x2', rest: null, timing: { kind: 'on-change', periodMs: null, jitterMs: null } }),
      aFrame({ name: 'counts', id: '0x3', counters: [aCounter({ lsb: { byte: 0, bit: 0 }, length: 40, step: 3 })] }),
    ];
    for (const scaling of ['float', 'integer'] as const) {
      const code = generateC(aMap(frames), { cautions: [], scaling });
      expect(() => compiled(code, 'int main(void) { return 0; }\n').remove()).not.toThrow();
    }
  });

  it('a map without frames compiles too', () => {
    expect(
      printed(
        generateC(aMap([]), { cautions: [] }),
        'sm_receiver r; sm_receiver_init(&r); printf("%u", (unsigned)r.unknown);',
      ),
    ).toBe('0');
  });
});
