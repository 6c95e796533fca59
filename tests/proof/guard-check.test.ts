/** One guard held against all frames: outside figures for the rule, and what is counted when it is changed. */
import { describe, expect, it } from 'vitest';
import { buildTable } from '../../src/frames/build-table.ts';
import { runSteps } from '../../src/frames/pictures/steps.ts';
import type { Stream } from '../../src/frames/table.ts';
import { createRandom } from '../../src/kit/random.ts';
import { compileChecksum } from '../../src/map/checksum.ts';
import type { MapChecksum, MapCounter } from '../../src/map/schema.ts';
import { checkGuard, type ChecksumCheck, type CounterCheck } from '../../src/proof/hold/guard-check.ts';
import { aChecksum, aCounter, aFrame, aSelector } from '../support/map-parts.ts';

const streamOf = (rows: readonly (readonly number[])[], times?: readonly number[]): Stream => {
  const frames = rows.map((data, i) => ({ timeUs: times?.[i] ?? i * 10_000, bus: 'can0', id: 0x123, data: [...data] }));
  return buildTable(frames).streams[0] as Stream;
};
const around = { counters: [], selectors: [] };
const held = (rule: MapChecksum, stream: Stream, frame: Parameters<typeof compileChecksum>[1] = around) =>
  runSteps(checkGuard(stream, { guard: 'checksum', rule, around: { ...around, ...frame } }, null)) as ChecksumCheck;
const counted = (rule: MapCounter, stream: Stream, periodUs: number | null) =>
  runSteps(checkGuard(stream, { guard: 'counter', rule, around: { selectors: [] } }, periodUs)) as CounterCheck;

/** Payloads of seven random bytes and the rule's value behind them. */
function guarded(rule: MapChecksum, frames: number, damaged: readonly number[] = []): Stream {
  const random = createRandom('guarded');
  const compute = compileChecksum(rule, aFrame({ counters: [] }));
  return streamOf(
    Array.from({ length: frames }, (_, row) => {
      const payload = Uint8Array.from({ length: 8 }, (_byte, place) => (place < 7 ? random.below(256) : 0));
      payload[7] = Number(compute?.(payload, 0, 8));
      if (damaged.includes(row)) payload[7] = (payload[7] as number) ^ 0x40;
      return [...payload];
    }),
  );
}

const rule = aChecksum({
  lsb: { byte: 7, bit: 0 },
  length: 8,
  method: 'crc',
  poly: '0x2F',
  init: '0xFF',
  xorout: '0xFF',
  covers: [0, 1, 2, 3, 4, 5, 6],
});

describe('a checksum held against all frames', () => {
  it('agrees with published values of the AUTOSAR CRC library (SWS_Crc, CRC8H2F)', () => {
    const four = { ...rule, lsb: { byte: 4, bit: 0 }, covers: [0, 1, 2, 3] };
    expect(
      held(
        four,
        streamOf([
          [0, 0, 0, 0, 0x12],
          [0x0f, 0xaa, 0, 0x55, 0xc6],
          [0, 0xff, 0x55, 0x11, 0x77],
        ]),
      ),
    ).toMatchObject({ checked: 3, passed: 3 });
    const three = { ...rule, lsb: { byte: 3, bit: 0 }, covers: [0, 1, 2] };
    expect(
      held(
        three,
        streamOf([
          [0xf2, 0x01, 0x83, 0xc2],
          [0x92, 0x6b, 0x55, 0x33],
        ]),
      ),
    ).toMatchObject({ passed: 2 });
    // One figure changed is one frame that does not agree.
    expect(
      held(
        three,
        streamOf([
          [0xf2, 0x01, 0x83, 0xc3],
          [0x92, 0x6b, 0x55, 0x33],
        ]),
      ),
    ).toMatchObject({ checked: 2, passed: 1, moments: [0] });
  });

  it('agrees with a published 16-bit example stored low byte first, and not in the other byte order', () => {
    // A public question with its answer, computed anew: 1021 / FFFF / reflected / FFFF over the first seven bytes.
    const wide = { ...rule, length: 16, poly: '0x1021', init: '0xFFFF', refin: true, refout: true, xorout: '0xFFFF' };
    const stream = streamOf([
      [0xee, 0, 0, 0, 0, 0x01, 0x20, 0x13, 0x10],
      [0xee, 0, 0, 0, 0, 0x03, 0x20, 0xa3, 0x23],
    ]);
    expect(held(wide, stream)).toMatchObject({ checked: 2, passed: 2, byChance: 2 ** -16, fewPayloads: 2 });
    expect(held({ ...wide, lsb: { byte: 8, bit: 0 }, order: 'big' }, stream)).toMatchObject({ checked: 2, passed: 0 });
  });

  it('counts what passes and tells when the first did not, over more frames than one piece of work', () => {
    const stream = guarded(rule, 10_000, [5, 4096, 9999]);
    const check = held(rule, stream);
    expect(check).toMatchObject({ checked: 10_000, passed: 9997, unchecked: 0, otherPage: 0, fewPayloads: null });
    expect(check.moments).toEqual([0.05, 40.96, 99.99]);
    expect(check.byChance).toBe(1 / 256);
  });

  it('one covered byte less lets about one frame in 256 pass by chance', () => {
    const stream = guarded(rule, 20_000);
    const check = held({ ...rule, covers: [0, 1, 2, 3, 4, 5] }, stream);
    // Binomial, n 20 000, p 1/256: 78 expected, standard deviation 8.8; five of them either way.
    expect(Math.abs(check.passed - 20_000 / 256)).toBeLessThan(44);
    expect(check.moments).toHaveLength(20);
    expect([...check.moments].sort((a, b) => a - b)).toEqual(check.moments);
  });

  it('counts frames of other pages and short ones apart', () => {
    const selectors = [aSelector({ name: 'page', lsb: { byte: 0, bit: 0 }, length: 8 })];
    const xor = {
      ...rule,
      method: 'xor' as const,
      poly: undefined,
      init: '0x00',
      xorout: '0x00',
      lsb: { byte: 2, bit: 0 },
      covers: [0, 1],
      when: { page: [1] },
    };
    const stream = streamOf([
      [1, 6, 7],
      [2, 6, 9],
      [1, 6, 8],
      [1, 6],
    ]);
    const check = runSteps(
      checkGuard(stream, { guard: 'checksum', rule: xor, around: { counters: [], selectors } }, null),
    );
    expect(check).toMatchObject({ checked: 2, passed: 1, otherPage: 1, unchecked: 1, moments: [0.02], fewPayloads: 4 });
  });

  it('says that a rule without what computes it cannot be held', () => {
    const stream = guarded(rule, 10);
    expect(held({ ...rule, method: 'unsolved' }, stream).guard).toBe('not-computable');
    expect(held({ ...rule, lsb: { byte: 9, bit: 0 } }, stream).guard).toBe('not-computable');
  });
});

describe('a counter held against all frames', () => {
  const counter = aCounter({ lsb: { byte: 0, bit: 0 }, length: 4, step: 1, every: 1, min: 0, max: 15 });
  const values = (raws: readonly number[]) => streamOf(raws.map((raw) => [raw]));

  it('tells what follows on, repeats and skips where the frames keep time', () => {
    const check = counted(counter, values([13, 14, 15, 0, 0, 1, 4, 5]), 10_000);
    expect(check).toMatchObject({ pairs: 7, followOn: 5, repeats: 1, skips: 1, lost: 0 });
    expect(check.moments).toEqual([0.04, 0.06]);
  });

  it('a silence long enough explains a skip; without a usual interval nothing does', () => {
    const stream = streamOf([[1], [2], [5], [6]], [0, 10_000, 40_000, 50_000]);
    expect(counted(counter, stream, 10_000)).toMatchObject({ followOn: 3, lost: 2, skips: 0 });
    expect(counted(counter, stream, null)).toMatchObject({ followOn: 2, lost: 0, skips: 1 });
  });

  it('another modulus breaks once a turn', () => {
    const stream = values(Array.from({ length: 9_600 }, (_, row) => row % 16));
    expect(counted(counter, stream, 10_000)).toMatchObject({ pairs: 9599, followOn: 9599 });
    // 15 -> 0 once in 16 frames, of which the last turn has none after it; 15 lies outside 0..14.
    expect(counted({ ...counter, max: 14 }, stream, 10_000)).toMatchObject({
      outOfRange: 600,
      followOn: 9599 - 600 - 599,
    });
  });
});
