import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { buildTable } from '../../../src/frames/build-table.ts';
import { checkTable } from '../../../src/frames/check-table.ts';
import { stableOrder } from '../../../src/frames/slot.ts';
import { framesFromText, tableFromText, tableToText } from '../../../src/frames/table-text.ts';
import { FD_BIT_RATE_SWITCH, FD_FORMAT } from '../../../src/frames/table.ts';

const PICTURE = `0.000000 can0 1F4 00 10 FF
0.010000 can0 18FEF100x sent 01
0.010000 can1 123 fd+brs 00 11 22 33 44 55 66 77 88 99 AA BB
0.010000 can0 1F4 00 10
2.000000001 can0 1F4
`;

describe('tables as text', () => {
  it('prints what it parsed', () => {
    const table = tableFromText(PICTURE.replace('2.000000001', '2.000001'));
    expect(checkTable(table)).toEqual([]);
    expect(tableToText(table)).toBe(PICTURE.replace('2.000000001', '2.000001'));
  });

  it('keeps nanoseconds', () => {
    expect(tableToText(tableFromText(PICTURE))).toBe(PICTURE);
  });

  it('orders streams by bus, base before extended, identifier, received before sent', () => {
    const table = tableFromText(PICTURE);
    expect(table.streams.map(({ bus, id, extended }) => [bus, id, extended])).toEqual([
      ['can0', 0x1f4, false],
      ['can0', 0x18fef100, true],
      ['can1', 0x123, false],
    ]);
    expect(table.streams[2]?.fdFlags?.[0]).toBe(FD_FORMAT | FD_BIT_RATE_SWITCH);
    expect(table.streams[0]?.lengths).toEqual(Uint8Array.of(3, 2, 0));
  });

  it('refuses what is no frame', () => {
    expect(() => framesFromText('0.1 can0 1F4 0G')).toThrow(/not a payload/);
    expect(() => framesFromText('hello')).toThrow(/not a frame/);
  });
});

describe('the builder', () => {
  it('sorts by stamp, keeps the order of arrival among equals, for any order of frames', () => {
    const frame = fc.record({
      timeUs: fc.integer({ min: 0, max: 40 }),
      bus: fc.constantFrom('a', 'b'),
      id: fc.constantFrom(1, 2, 0x800),
      data: fc.uint8Array({ maxLength: 64 }),
    });
    fc.assert(
      fc.property(fc.array(frame, { minLength: 1, maxLength: 400 }), (frames) => {
        const table = buildTable(frames);
        expect(checkTable(table)).toEqual([]);
        const first = Math.min(...frames.map(({ timeUs }) => timeUs));
        const expected = frames
          .map((each, arrival) => ({ ...each, arrival, timeUs: each.timeUs - first }))
          .sort((a, b) => a.timeUs - b.timeUs || a.arrival - b.arrival);
        const found = table.streams
          .flatMap((s) =>
            [...s.timeUs].map((timeUs, row) => ({
              timeUs,
              arrival: s.arrival[row] as number,
              bus: s.bus,
              id: s.id,
              data: s.payload.slice(
                row * s.stride,
                row * s.stride + (s.lengths ? (s.lengths[row] as number) : s.length),
              ),
            })),
          )
          .sort((a, b) => a.arrival - b.arrival)
          .sort((a, b) => a.timeUs - b.timeUs || a.arrival - b.arrival);
        expect(found).toEqual(
          expected.map(({ timeUs, arrival, bus, id, data }) => ({ timeUs, arrival, bus, id, data })),
        );
      }),
    );
  });

  it('leaves ordered rows alone and merges two ordered halves stably', () => {
    expect(stableOrder(Float64Array.of(1, 2, 2, 3))).toBeNull();
    expect(stableOrder(Float64Array.of(1, 3, 5, 1, 3, 4))).toEqual(Uint32Array.of(0, 3, 1, 4, 5, 2));
  });

  it('holds more frames than a block and a longer payload in mid-stream', () => {
    const frames = Array.from({ length: 30_000 }, (_each, i) => ({
      timeUs: i * 100,
      bus: 'can0',
      id: 1,
      data: i === 20_000 ? new Uint8Array(64).fill(7) : Uint8Array.of(i & 255, i >> 8),
    }));
    const table = buildTable(frames);
    expect(checkTable(table)).toEqual([]);
    const [stream] = table.streams;
    expect(stream?.stride).toBe(64);
    expect([...(stream?.payload.subarray(29_999 * 64, 29_999 * 64 + 3) ?? [])]).toEqual([29_999 & 255, 29_999 >> 8, 0]);
  });
});
