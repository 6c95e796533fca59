/** Pictures against slow, obvious ones: every frame looked at, every column filled by its definition. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { codedValue, readRawBig, type Coding, type Placement } from '../../src/frames/bits.ts';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import { bitPyramid } from '../../src/frames/pictures/bit-counts.ts';
import { columnEdges } from '../../src/frames/pictures/columns.ts';
import { load, sampleWire } from '../../src/frames/pictures/load.ts';
import { movementSums, overview } from '../../src/frames/pictures/overview.ts';
import { runSteps } from '../../src/frames/pictures/steps.ts';
import { repetitions, trace, traceBlocks, valueAt } from '../../src/frames/pictures/trace.ts';
import type { TraceRequest, Window } from '../../src/frames/pictures/types.ts';
import { fieldReader, throughTable } from '../../src/frames/pictures/values.ts';
import { weave } from '../../src/frames/pictures/weave.ts';
import { FD_BIT_RATE_SWITCH, FD_FORMAT, lengthAt, type FrameTable, type Stream } from '../../src/frames/table.ts';
import { wireBits, wireSeconds } from '../../src/frames/wire.ts';
import { createRandom } from '../../src/kit/random.ts';

interface Shape {
  readonly seed: number;
  readonly frames: number;
  readonly bytes: number;
  readonly varying: boolean;
}

/** Frames with bursts, equal stamps and long silences; some bytes rest, some race. */
function framesOf({ seed, frames, bytes, varying }: Shape, bus = 'can0', id = 0x100): PlainFrame[] {
  const random = createRandom(seed);
  let timeUs = random.below(1000);
  const state = Array.from({ length: bytes }, () => random.below(256));
  return Array.from({ length: frames }, () => {
    timeUs += random.next() < 0.02 ? random.below(3_000_000) : random.below(4) * random.below(9000);
    for (let byte = 0; byte < bytes; byte++) if (random.next() < byte / bytes) state[byte] = random.below(256);
    return { timeUs, bus, id, data: state.slice(0, varying ? random.below(bytes + 1) : bytes) };
  });
}

const shape = fc.record({
  seed: fc.nat(),
  frames: fc.integer({ min: 1, max: 700 }),
  bytes: fc.integer({ min: 1, max: 9 }),
  varying: fc.boolean(),
});
const anyWindow = fc
  .record({
    from: fc.double({ min: -0.2, max: 1.1, noNaN: true }),
    width: fc.double({ min: 0, max: 1.3, noNaN: true }),
    columns: fc.integer({ min: 1, max: 60 }),
  })
  .map(({ from, width, columns }) => (table: FrameTable): Window => {
    const endS = table.endUs / 1e6 || 1;
    return { fromS: from * endS, toS: (from + width) * endS, columns };
  });
const onlyStream = (table: FrameTable): Stream => table.streams[0] as Stream;

/** The column of a row by the definition, or -1: half open, the last one takes its end. */
function columnOf(us: number, { fromS, toS, columns }: Window): number {
  const fromUs = fromS * 1e6;
  const widthUs = ((toS - fromS) * 1e6) / columns;
  if (us < fromUs || us > toS * 1e6) return -1;
  for (let column = 0; column < columns - 1; column++) if (us < fromUs + (column + 1) * widthUs) return column;
  return columns - 1;
}

const rowsIn = (stream: Stream, window: Window, column: number): number[] =>
  Array.from({ length: stream.count }, (_, row) => row).filter(
    (row) => columnOf(stream.timeUs[row] as number, window) === column,
  );
const bitAt = (stream: Stream, row: number, bit: number): number =>
  ((stream.payload[row * stream.stride + (bit >> 3)] as number) >> (bit & 7)) & 1;
const hasByte = (stream: Stream, row: number, byte: number): boolean => byte < lengthAt(stream, row);
const toggles = (stream: Stream, row: number, bit: number): boolean =>
  row > 0 &&
  hasByte(stream, row, bit >> 3) &&
  hasByte(stream, row - 1, bit >> 3) &&
  bitAt(stream, row, bit) !== bitAt(stream, row - 1, bit);

describe('columns of a window', () => {
  it('hold each row of the window once, by the definition', () => {
    fc.assert(
      fc.property(shape, anyWindow, (of, windowOf) => {
        const table = buildTable(framesOf(of));
        const stream = onlyStream(table);
        const window = windowOf(table);
        const edges = columnEdges(stream.timeUs, window);
        for (let column = 0; column < window.columns; column++) {
          const rows = rowsIn(stream, window, column);
          expect((edges[column + 1] as number) - (edges[column] as number)).toBe(rows.length);
          if (rows.length > 0) expect(edges[column]).toBe(rows[0]);
        }
      }),
      { numRuns: 60 },
    );
  });

  it('the whole capture holds its last frame', () => {
    const timeUs = Float64Array.of(0, 5, 10);
    expect([...columnEdges(timeUs, { fromS: 0, toS: 10e-6, columns: 2 })]).toEqual([0, 1, 3]);
  });
});

describe('the weave', () => {
  it('counts every bit as a look at every frame does', () => {
    fc.assert(
      fc.property(shape, anyWindow, (of, windowOf) => {
        const table = buildTable(framesOf(of));
        const stream = onlyStream(table);
        const window = windowOf(table);
        const picture = runSteps(weave(stream, runSteps(bitPyramid(stream)), window));
        for (let column = 0; column < window.columns; column++) {
          const rows = rowsIn(stream, window, column);
          expect(picture.frames[column]).toBe(rows.length);
          for (let bit = 0; bit < stream.stride * 8; bit++) {
            const n = rows.length || 1;
            const set = rows.filter((row) => bitAt(stream, row, bit)).length / n;
            const changed = rows.filter((row) => toggles(stream, row, bit)).length / n;
            expect(picture.set[bit * window.columns + column]).toBe(Math.fround(set));
            expect(picture.changed[bit * window.columns + column]).toBe(Math.fround(changed));
          }
        }
      }),
      { numRuns: 40 },
    );
  });

  it('keeps the silences that touch the window', () => {
    const table = buildTable(framesOf({ seed: 1, frames: 50, bytes: 2, varying: false }));
    const gaps = [
      { fromS: 0, toS: 1 },
      { fromS: 4, toS: 6 },
      { fromS: 9, toS: 11 },
    ];
    const stream = onlyStream(table);
    const picture = runSteps(weave(stream, runSteps(bitPyramid(stream)), { fromS: 5, toS: 8, columns: 3 }, gaps));
    expect(picture.gaps).toEqual([{ fromS: 4, toS: 6 }]);
  });
});

describe('the overview', () => {
  it('shares out frames and toggled bits', () => {
    fc.assert(
      fc.property(shape, shape, anyWindow, (a, b, windowOf) => {
        const table = buildTable([...framesOf(a), ...framesOf(b, 'can1', 0x7)]);
        const window = windowOf(table);
        const picture = runSteps(overview(table, window, (stream) => runSteps(movementSums(stream))));
        for (const [place, stream] of table.streams.entries()) {
          for (let column = 0; column < window.columns; column++) {
            const rows = rowsIn(stream, window, column);
            expect(picture.frames[place * window.columns + column]).toBe(rows.length);
            let toggled = 0;
            for (const row of rows)
              for (let bit = 0; bit < stream.stride * 8; bit++) if (toggles(stream, row, bit)) toggled++;
            const expected = rows.length ? toggled / (rows.length * Math.max(1, stream.length * 8)) : Number.NaN;
            expect(picture.movement[place * window.columns + column]).toBe(Math.fround(expected));
          }
        }
      }),
      { numRuns: 30 },
    );
  });
});

const placements: readonly (Placement & { coding: Coding })[] = [
  { lsb: { byte: 0, bit: 3 }, length: 5, order: 'little', coding: 'unsigned' },
  { lsb: { byte: 1, bit: 0 }, length: 16, order: 'big', coding: 'signed' },
  { lsb: { byte: 0, bit: 6 }, length: 11, order: 'little', coding: 'sign-magnitude' },
  { lsb: { byte: 2, bit: 0 }, length: 8, order: 'little', coding: 'bcd' },
  { lsb: { byte: 0, bit: 0 }, length: 32, order: 'little', coding: 'float' },
  { lsb: { byte: 0, bit: 0 }, length: 64, order: 'little', coding: 'signed' },
  {
    lsb: { byte: 3, bit: 4 },
    length: 4,
    order: 'little',
    coding: 'unsigned',
    continues: [{ lsb: { byte: 0, bit: 0 }, length: 6, order: 'little' }],
  },
];
const requestOf = fc
  .record({
    field: fc.constantFrom(...placements),
    paged: fc.boolean(),
    scale: fc.constantFrom(1, -0.5, 0.1),
    offset: fc.constantFrom(0, -40),
    invalid: fc.constantFrom([], [{ from: 200, to: 40000 }]),
  })
  .map(({ field: { coding, ...placement }, paged, ...rest }): TraceRequest => ({
    stream: { bus: 'can0', id: 0x100, extended: false, direction: 'received' },
    placement,
    coding,
    when: paged ? { page: [0, 1, 5] } : null,
    selectors: [{ name: 'page', lsb: { byte: 0, bit: 0 }, length: 3, order: 'little' }],
    ...rest,
  }));

/** The value of one row by reading the contract: condition, length, invalid ranges, coding, scale. */
function slowValue(stream: Stream, request: TraceRequest, row: number): number | null {
  const pieces = [request.placement, ...(request.placement.continues ?? [])];
  const bytes = lengthAt(stream, row);
  const payload = stream.payload.subarray(row * stream.stride, row * stream.stride + bytes);
  for (const { lsb, length, order } of pieces) {
    for (let bit = 0; bit < length; bit++) {
      const byte = lsb.byte + (order === 'little' ? 1 : -1) * Math.floor((lsb.bit + bit) / 8);
      if (byte < 0 || byte >= bytes) return null;
    }
  }
  if (request.when) {
    if (bytes < 1) return null;
    if (!(request.when['page'] as number[]).includes((payload[0] as number) & 7)) return null;
  }
  const length = pieces.reduce((sum, piece) => sum + piece.length, 0);
  const raw = readRawBig(request.placement, payload);
  if (length > 53) return Number(BigInt.asIntN(length, raw)) * (request.scale ?? 1) + (request.offset ?? 0);
  if (request.invalid?.some(({ from, to }) => Number(raw) >= from && Number(raw) <= to)) return Number.NaN;
  return codedValue(Number(raw), request.coding, length) * (request.scale ?? 1) + (request.offset ?? 0);
}

describe('traces', () => {
  it('give least, greatest and last of each column, and of the whole', () => {
    fc.assert(
      fc.property(shape, anyWindow, requestOf, (of, windowOf, request) => {
        const table = buildTable(framesOf(of));
        const stream = onlyStream(table);
        const window = windowOf(table);
        const picture = runSteps(trace(stream, runSteps(traceBlocks(stream, request)), window));
        const valuesOf = (rows: readonly number[]): number[] =>
          rows.map((row) => slowValue(stream, request, row) ?? Number.NaN).filter((value) => !Number.isNaN(value));
        const least = (values: number[]): number => (values.length ? Math.min(...values) : Number.NaN);
        const greatest = (values: number[]): number => (values.length ? Math.max(...values) : Number.NaN);
        for (let column = 0; column < window.columns; column++) {
          const values = valuesOf(rowsIn(stream, window, column));
          expect(picture.low[column]).toEqual(least(values));
          expect(picture.high[column]).toEqual(greatest(values));
          expect(picture.last[column]).toEqual(values.at(-1) ?? Number.NaN);
        }
        const all = valuesOf(Array.from({ length: stream.count }, (_, row) => row));
        expect(picture.least).toEqual(least(all));
        expect(picture.greatest).toEqual(greatest(all));
      }),
      { numRuns: 150 },
    );
  });

  it('agree with the slow one over thousands of rows, where whole groups of blocks are joined', () => {
    const table = buildTable(framesOf({ seed: 5, frames: 9000, bytes: 4, varying: false }));
    const stream = onlyStream(table);
    const request: TraceRequest = { stream, placement: placements[1] as Placement, coding: 'signed', when: null };
    const window = { fromS: 0.01, toS: table.endUs / 1e6, columns: 2 };
    const picture = runSteps(trace(stream, runSteps(traceBlocks(stream, request)), window));
    for (const column of [0, 1]) {
      const values = rowsIn(stream, window, column).map((row) => slowValue(stream, request, row) as number);
      expect(values.length).toBeGreaterThan(3000);
      expect([picture.low[column], picture.high[column]]).toEqual([Math.min(...values), Math.max(...values)]);
    }
  });

  it('a field that runs off the payload, or whose page no selector names, has no value anywhere', () => {
    const table = buildTable(framesOf({ seed: 3, frames: 20, bytes: 2, varying: false }));
    const stream = onlyStream(table);
    const off: TraceRequest = {
      stream,
      placement: { lsb: { byte: 1, bit: 4 }, length: 8, order: 'little' },
      coding: 'unsigned',
    };
    const unnamed: TraceRequest = {
      stream,
      placement: placements[0] as Placement,
      coding: 'unsigned',
      when: { page: [0] },
    };
    for (const request of [off, unnamed]) expect(runSteps(traceBlocks(stream, request)).least).toBeNaN();
  });
});

describe('the value at an instant', () => {
  it('is that of the last frame at or before it that carries the field', () => {
    fc.assert(
      fc.property(shape, requestOf, fc.double({ min: -0.1, max: 1.1, noNaN: true }), (of, request, share) => {
        const table = buildTable(framesOf(of));
        const stream = onlyStream(table);
        const atUs = share * table.endUs;
        let expected = Number.NaN;
        for (let row = 0; row < stream.count && (stream.timeUs[row] as number) <= atUs; row++) {
          expected = slowValue(stream, request, row) ?? expected;
        }
        expect(valueAt(stream, fieldReader(stream, request), atUs)).toEqual(expected);
      }),
      { numRuns: 150 },
    );
  });

  it('repetitions hold it at the middle of each column, and are blank in silences and outside the recording', () => {
    const data = (value: number): number[] => [value];
    const frames = [0, 1, 2, 3, 8, 9].map((second, i) => ({
      timeUs: second * 1e6,
      bus: 'can0',
      id: 1,
      data: data(10 * i),
    }));
    const stream = onlyStream(buildTable(frames));
    const request: TraceRequest = {
      stream,
      placement: { lsb: { byte: 0, bit: 0 }, length: 8, order: 'little' },
      coding: 'unsigned',
    };
    const silences = [{ fromS: 3, toS: 8 }];
    const picture = runSteps(
      repetitions(
        stream,
        fieldReader(stream, request),
        [0.9, 8.5],
        { beforeS: 1.5, afterS: 1.5, columns: 3 },
        silences,
      ),
    );
    expect(picture.rows).toBe(2);
    expect([...picture.values]).toEqual([Number.NaN, 0, 10, Number.NaN, 40, Number.NaN]);
  });

  it('a table is linear between its points and along its end pieces', () => {
    const table: [number, number][] = [
      [0, -40],
      [100, 10],
      [200, 30],
    ];
    expect([-10, 0, 50, 100, 150, 200, 250].map((raw) => throughTable(table, raw))).toEqual([
      -45, -40, -15, 10, 20, 30, 40,
    ]);
  });
});

describe('bus load', () => {
  it('is the time of the frames on the wire, exactly so where all payloads are sampled', () => {
    const payloads = [
      [0, 0, 0, 0, 0, 0, 0, 0],
      [255, 255, 255, 255, 255, 255, 255, 255],
    ];
    const frames = Array.from({ length: 200 }, (_, i) => ({
      timeUs: i * 10_000,
      bus: 'can0',
      id: 0x123,
      data: payloads[i % 2] as number[],
      fdFlags: i % 2 ? FD_FORMAT | FD_BIT_RATE_SWITCH : 0,
    }));
    const table = buildTable(frames);
    const rate = { bitrate: 500_000, dataBitrate: 2_000_000 };
    const window = { fromS: 0, toS: 2, columns: 4 };
    const picture = runSteps(load(table, window, { can0: rate }, sampleWire));
    const each = payloads.map((payload, i) =>
      wireSeconds(
        wireBits({ id: 0x123, extended: false, payload: Uint8Array.from(payload), fd: i === 1, rateSwitch: i === 1 }),
        rate,
      ),
    );
    const expected = (25 * ((each[0] as number) + (each[1] as number))) / 0.5;
    const [bus] = picture.buses;
    expect(bus?.measure).toBe('load');
    for (const value of bus?.values ?? []) expect(value).toBeCloseTo(expected, 6);
  });

  it('is frames a second without a bit rate, and nothing in a silence of the bus', () => {
    const table = buildTable(
      [0, 1, 2, 3, 9, 10].map((second) => ({ timeUs: second * 1e6, bus: 'b', id: 1, data: [] })),
    );
    const picture = runSteps(
      load(table, { fromS: 0, toS: 10, columns: 5 }, {}, sampleWire, () => [{ fromS: 3, toS: 9 }]),
    );
    expect(picture.buses[0]?.measure).toBe('frames-per-second');
    expect([...(picture.buses[0]?.values ?? [])]).toEqual([1, 1, Number.NaN, Number.NaN, 1]);
  });

  it('of columns narrower than a frame is that of 10 ms about their middle, and never beyond 1', () => {
    const frames = Array.from({ length: 100 }, (_, i) => ({ timeUs: i * 1000, bus: 'b', id: 1, data: [] }));
    const table = buildTable(frames);
    const window = { fromS: 0.04, toS: 0.05, columns: 100 };
    const perSecond = runSteps(load(table, window, {}, sampleWire)).buses[0]?.values ?? [];
    for (const value of perSecond) expect(value).toBeCloseTo(1000, 3);
    const crowded =
      runSteps(load(table, window, { b: { bitrate: 10_000, dataBitrate: null } }, sampleWire)).buses[0]?.values ?? [];
    for (const value of crowded) expect(value).toBe(1);
  });
});
