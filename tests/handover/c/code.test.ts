import { beforeAll, describe, expect, it } from 'vitest';
import { vehicleFor } from '../../../src/demo/vehicle.ts';
import { generateC } from '../../../src/handover/c/source.ts';
import { createRandom } from '../../../src/kit/random.ts';
import { formatPayload } from '../../../src/map/raw-values.ts';
import type { SignalMap } from '../../../src/map/schema.ts';
import { requireGcc } from '../../support/compile-c.ts';
import { aChecksum, aCounter, aFrame, aMap, aSelector, aSignal } from '../../support/map-parts.ts';
import { randomFrame, randomPayload } from '../../support/random-frames.ts';
import { holdAgainst, printed, withRanges } from './held.ts';

beforeAll(requireGcc);

describe('generated C against the TypeScript codec, under address and undefined-behaviour checks', () => {
  it.each([1, 2])('random layouts, seed %i', (seed) => {
    const random = createRandom(seed);
    const frames = Array.from({ length: 30 }, (_, i) => ({
      ...withRanges(randomFrame(random), random),
      id: `0x${(0x100 + i).toString(16).toUpperCase()}`,
      name: `frame ${i}`,
    }));
    const { written, refused } = holdAgainst(aMap(frames), random, 60);
    expect(written).toBeGreaterThan(100);
    expect(refused).toBeGreaterThan(100);
  });

  it('nested pages, checksums on pages, tables by counter, an inner checksum under an outer one', () => {
    const frame = aFrame({
      name: 'deep',
      length: 16,
      fd: true,
      selectors: [
        aSelector({ name: 'bank', lsb: { byte: 0, bit: 0 }, length: 2 }),
        aSelector({ name: 'row', lsb: { byte: 0, bit: 2 }, length: 2, when: { bank: [1, 3] } }),
      ],
      counters: [
        aCounter({ lsb: { byte: 1, bit: 0 }, length: 4, max: 7 }),
        aCounter({ name: 'slow', lsb: { byte: 1, bit: 4 }, length: 4, every: 3, step: -2, when: { bank: [0] } }),
      ],
      signals: [
        aSignal({
          name: 'a',
          lsb: { byte: 3, bit: 0 },
          length: 16,
          order: 'big',
          coding: 'signed',
          when: { bank: [0, 2] },
          observed: { min: -40000, max: 40000 },
        }),
        aSignal({
          name: 'b',
          lsb: { byte: 2, bit: 0 },
          length: 16,
          scale: 0.1,
          when: { row: [2], bank: [1] },
          observed: { min: 0, max: 7000 },
        }),
      ],
      checksums: [
        aChecksum({
          lsb: { byte: 15, bit: 0 },
          length: 8,
          method: 'sum',
          carry: 'end-around',
          covers: [...Array(15).keys()],
        }),
        aChecksum({
          lsb: { byte: 14, bit: 0 },
          length: 8,
          method: 'crc',
          width: 8,
          poly: '0x2F',
          init: '0xFF',
          xorout: '0xFF',
          covers: [1, 2, 3],
          suffixByCounter: [['0x1', '0x2'], ['0x3'], [], ['0x4'], ['0x5']],
        }),
        aChecksum({
          lsb: { byte: 8, bit: 0 },
          length: 32,
          method: 'crc',
          width: 32,
          poly: '0xF4ACFB13',
          init: '0xFFFFFFFF',
          xorout: '0xFFFFFFFF',
          refin: true,
          refout: true,
          covers: [0, 1, 2, 3],
          when: { bank: [2] },
        }),
        aChecksum({
          lsb: { byte: 13, bit: 0 },
          length: 8,
          method: 'copy',
          covers: [
            { byte: 2, mask: '0xF0' },
            { byte: 3, mask: '0x0F' },
          ],
          xorout: '0xFF',
        }),
      ],
    });
    const random = createRandom('deep');
    const rest = { payload: formatPayload(randomPayload(random, 16)), capture: 'c1', fromS: 0, toS: 1 };
    const { written } = holdAgainst(aMap([{ ...frame, rest }]), random, 2000);
    expect(written).toBeGreaterThan(200);
  });
});

describe('the layout of a simulated vehicle', () => {
  it.each(['plain', 'paged', 'fd'] as const)('%s', (profile) => {
    const random = createRandom(profile);
    const { map } = vehicleFor(profile, 4711);
    const { written } = holdAgainst(
      { ...map, frames: map.frames.map((frame) => withRanges(frame, random)) },
      random,
      40,
    );
    expect(written).toBeGreaterThan(20);
  });
});

describe('what is sent', () => {
  const torque = aSignal({
    name: 'torque',
    lsb: { byte: 0, bit: 0 },
    length: 8,
    unit: 'Nm',
    observed: { min: 0, max: 200 },
  });
  const limit = aSignal({ name: 'limit', lsb: { byte: 1, bit: 0 }, length: 8, observed: { min: 0, max: 200 } });
  const rest = { payload: '7F 10 00 00 00 00 00 00', capture: 'c1', fromS: 0, toS: 1 };
  const frame = aFrame({
    name: 'demand',
    signals: [torque, limit],
    rest,
    counters: [aCounter({ lsb: { byte: 2, bit: 0 }, length: 4 })],
  });

  function sent(map: SignalMap, body: string, release: string[] = []): string {
    return printed(generateC(map, { cautions: [], release }), `uint8_t out[8] = {0}; int i; ${body}`);
  }
  const print = 'for (i = 0; i < 3; i++) printf("%02X", out[i]); printf(" ");';

  it('starts from the payload recorded at rest and leaves torque alone unless it was released by name', () => {
    const body = `sm_demand s; sm_demand_init(&s); s.torque = 5; s.limit = 9; sm_demand_encode(&s, out); ${print}`;
    expect(sent(aMap([frame]), body)).toBe('7F0900');
    expect(sent(aMap([frame]), body, ['demand.torque'])).toBe('050900');
    expect(generateC(aMap([frame]), { cautions: [] }).leftOut).toEqual([
      { name: 'demand.torque', why: expect.stringContaining('release it by name') as string },
    ]);
  });

  it('counts from frame to frame, also past its end', () => {
    const body = `sm_demand s; int n; sm_demand_init(&s); for (n = 0; n < 18; n++) { sm_demand_encode(&s, out); printf("%u ", out[2] & 15u); } i = 0; (void)i;`;
    expect(sent(aMap([frame]), body)).toBe('0 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 0 1');
  });

  it('refuses what was never observed, writes nothing and names the signal', () => {
    const body = `sm_demand s; int status; sm_demand_init(&s); s.limit = 201; status = (int)sm_demand_encode(&s, out); printf("%d %u ", status, s.failed); ${print}`;
    expect(sent(aMap([frame]), body)).toBe('4 2 000000');
  });

  it('warns when bits change whose part in the checksum is not known', () => {
    const guarded = {
      ...frame,
      checksums: [
        aChecksum({
          lsb: { byte: 7, bit: 0 },
          length: 8,
          method: 'xor',
          covers: [0, 1, 2],
          undetermined: [{ byte: 1, bit: 7 }],
        }),
      ],
    };
    const body = `sm_demand s; sm_demand_init(&s); s.limit = 9; printf("%d ", (int)sm_demand_encode(&s, out)); s.limit = 130; printf("%d ", (int)sm_demand_encode(&s, out)); i = 0; (void)i;`;
    expect(sent(aMap([guarded]), body)).toBe('0 1');
  });

  it.each([
    ['mac', 'secret'],
    ['unsolved', 'not known'],
  ] as const)('has no encoder for a frame guarded by %s, and says so', (method, word) => {
    const code = generateC(
      aMap([{ ...frame, checksums: [aChecksum({ lsb: { byte: 7, bit: 0 }, length: 8, method })] }]),
      { cautions: [] },
    );
    expect(code.header).not.toContain('sm_demand_encode');
    expect(code.leftOut[0]).toEqual({ name: 'demand', why: expect.stringContaining(word) as string });
  });

  it('has no encoder where nothing was recorded at rest', () => {
    const code = generateC(aMap([{ ...frame, rest: null }]), { cautions: [] });
    expect(code.header).not.toContain('sm_demand_encode');
    expect(() => printed(code, '')).not.toThrow();
  });
});
