/**
 * Random recordings written by small writers that know nothing of the readers, in every dialect, read
 * back and compared: instants to the microsecond (or to the dialect's resolution), buses, identifiers,
 * directions and payloads. Slices of random size must make no difference.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { buildTable, type PlainFrame } from '../../../src/frames/build-table.ts';
import { tableToText } from '../../../src/frames/table-text.ts';
import { readBytes, tryReading } from './reading.ts';

interface Written extends PlainFrame {
  readonly data: number[];
  readonly extended: boolean;
}

/** Forty or more frames of a handful of identifiers, as a bus gives them: steps of 0.1 to 8 ms. */
const recording = (maxBytes: 8 | 64): fc.Arbitrary<Written[]> =>
  fc
    .record({
      ids: fc.uniqueArray(
        fc.oneof(fc.integer({ min: 0x20, max: 0x7ff }), fc.integer({ min: 0x800, max: 0x1fffffff })),
        { minLength: 3, maxLength: 8 },
      ),
      startUs: fc.integer({ min: 0, max: 2_000_000_000 }),
      frames: fc.array(
        fc.record({
          stepUs: fc.integer({ min: 100, max: 8000 }),
          pick: fc.nat(),
          bytes: fc.uint8Array({ minLength: 64, maxLength: 64 }),
          sent: fc.integer({ min: 0, max: 9 }),
        }),
        { minLength: 40, maxLength: 90 },
      ),
    })
    .map(({ ids, startUs, frames }) => {
      let timeUs = startUs;
      const lengths = maxBytes === 8 ? [8, 8, 6, 2, 8, 5, 8, 3] : [64, 12, 8, 48, 20, 2, 16, 32];
      return frames.map(({ stepUs, pick, bytes, sent }) => {
        timeUs += stepUs;
        const which = pick % ids.length;
        const id = ids[which] as number;
        const length = lengths[which % lengths.length] as number;
        return {
          timeUs,
          bus: which % 2 ? 'can1' : 'can0',
          id,
          extended: id > 0x7ff,
          direction: sent === 0 ? ('sent' as const) : ('received' as const),
          fdFlags: length > 8 ? 1 : 0,
          data: [...bytes.subarray(0, length)],
        };
      });
    });

const two = (value: number): string => value.toString(16).toUpperCase().padStart(2, '0');
const hex = (data: readonly number[], between = ''): string => data.map(two).join(between);
const fixed = (us: number, digits = 6): string => {
  const text = String(us).padStart(7, '0');
  return `${text.slice(0, -6)}.${text.slice(-6)}`.slice(0, text.length + 1 - 6 + digits);
};
const logId = (f: Written): string =>
  f.id
    .toString(16)
    .toUpperCase()
    .padStart(f.extended ? 8 : 3, '0');
const plainId = (f: Written): string => f.id.toString(16);

interface Dialect {
  readonly name: string;
  readonly heading?: string;
  readonly maxBytes?: 8 | 64;
  readonly end?: string;
  /** What of a frame the dialect cannot say. */
  readonly forget?: (frame: Written) => Partial<Written>;
  readonly line: (frame: Written, row: number) => string;
}

const noDirection = () => ({ direction: 'received' as const });
const noBus = () => ({ direction: 'received' as const, bus: 'bus1' });
const EPOCH_MS = Date.UTC(2025, 10, 25, 10);
const isoOf = (us: number): string =>
  new Date(EPOCH_MS + Math.floor(us / 1000)).toISOString().replace('Z', '') + String(us % 1000).padStart(3, '0');

const DIALECTS: readonly Dialect[] = [
  {
    name: 'log lines',
    line: (f) => `(${fixed(f.timeUs)}) ${f.bus} ${logId(f)}#${hex(f.data)} ${f.direction === 'sent' ? 'T' : 'R'}`,
  },
  {
    name: 'log lines, lower case, CR',
    end: '\r',
    forget: noDirection,
    line: (f) => `(${fixed(f.timeUs)}) ${f.bus} ${logId(f)}#${hex(f.data)}`.toLowerCase(),
  },
  {
    name: 'log lines with CAN FD',
    maxBytes: 64,
    forget: noDirection,
    line: (f) => `(${fixed(f.timeUs)}) ${f.bus} ${logId(f)}${f.data.length > 8 ? '##0' : '#'}${hex(f.data)}`,
  },
  {
    name: 'screen lines',
    forget: noDirection,
    line: (f) => ` (${fixed(f.timeUs)})  ${f.bus}  ${logId(f).padStart(8)}   [${f.data.length}]  ${hex(f.data, ' ')}`,
  },
  {
    name: 'comma, heading, hex',
    heading: 'time,bus,dir,id,len,data',
    line: (f) =>
      `${fixed(f.timeUs)},${f.bus},${f.direction === 'sent' ? 'tx' : 'rx'},${plainId(f)},${f.data.length},${hex(f.data)}`,
  },
  {
    name: 'comma without heading',
    forget: noDirection,
    line: (f) => `${fixed(f.timeUs)},${f.bus},0x${plainId(f)},${f.data.length},${hex(f.data, ' ')}`,
  },
  {
    name: 'semicolon, decimal comma',
    end: '\r\n',
    heading: 'Zeit [s];Bus;ID (hex);Länge;Daten',
    forget: noDirection,
    line: (f) => `${fixed(f.timeUs).replace('.', ',')};${f.bus};${plainId(f)};${f.data.length};${hex(f.data, ' ')}`,
  },
  {
    name: 'quoted',
    heading: '"timestamp","channel","arbitration id","payload"',
    forget: noDirection,
    line: (f) => `"${fixed(f.timeUs)}","${f.bus}","0x${plainId(f)}","0x${hex(f.data)}"`,
  },
  {
    name: 'decimal identifiers and bytes',
    heading: 'time_us,id (dec),dlc,d0,d1,d2,d3,d4,d5,d6,d7',
    forget: noBus,
    line: (f) => [f.timeUs, f.id, f.data.length, ...Array.from({ length: 8 }, (_e, i) => f.data[i] ?? '')].join(','),
  },
  {
    name: 'unpadded hex byte columns',
    heading: 'no\tt\tid\tlen\tb0\tb1\tb2\tb3\tb4\tb5\tb6\tb7',
    forget: noBus,
    line: (f, row) =>
      [row, fixed(f.timeUs), `0x${plainId(f)}`, f.data.length, ...f.data.map((byte) => byte.toString(16))].join('\t'),
  },
  {
    name: 'binary digits',
    heading: 'time,id,bits',
    forget: noBus,
    line: (f) =>
      `${fixed(f.timeUs)},0x${plainId(f)},${f.data.map((byte) => byte.toString(2).padStart(8, '0')).join('')}`,
  },
  {
    name: 'ISO times',
    heading: 'stamp,bus,id,data',
    forget: noDirection,
    line: (f) => `${isoOf(f.timeUs)}Z,${f.bus},0x${plainId(f)},${hex(f.data)}`,
  },
  {
    name: 'blanks',
    forget: noDirection,
    line: (f) => `${fixed(f.timeUs)} ${f.bus} 0x${plainId(f)} ${f.data.length} ${hex(f.data, ' ')}`,
  },
  {
    name: 'CAN FD table',
    maxBytes: 64,
    heading: 'time;bus;id;size;payload',
    forget: noDirection,
    line: (f) => `${fixed(f.timeUs)};${f.bus};0x${plainId(f)};${f.data.length};${hex(f.data)}`,
  },
  {
    name: 'bars',
    heading: '|time|bus|id|data|',
    forget: noDirection,
    line: (f) => `|${fixed(f.timeUs)}|${f.bus}|0x${plainId(f)}|${hex(f.data)}|`,
  },
];

function write({ heading, line, end = '\n' }: Dialect, frames: readonly Written[]): string {
  const lines = frames.map(line);
  return [...(heading === undefined ? [] : [heading]), ...lines].join(end) + end;
}

function expectedOf({ forget = () => ({}) }: Dialect, frames: readonly Written[]): string {
  return tableToText(buildTable(frames.map((frame) => ({ ...frame, ...forget(frame) }))));
}

describe.each(DIALECTS)('written as $name', (dialect) => {
  it('is read back equal', async () => {
    await fc.assert(
      fc.asyncProperty(
        recording(dialect.maxBytes ?? 8),
        fc.integer({ min: 1, max: 3000 }),
        async (frames, sliceBytes) => {
          const text = write(dialect, frames);
          expect(tableToText(await readBytes(text, { sliceBytes }))).toBe(expectedOf(dialect, frames));
        },
      ),
      { numRuns: 25, seed: 2611 },
    );
  });

  it('is read back equal from UTF-16', async () => {
    await fc.assert(
      fc.asyncProperty(
        recording(dialect.maxBytes ?? 8),
        fc.integer({ min: 1, max: 3000 }),
        async (frames, sliceBytes) => {
          const bytes = new Uint8Array(Buffer.from('\ufeff' + write(dialect, frames), 'utf16le'));
          expect(tableToText(await readBytes(bytes, { sliceBytes }))).toBe(expectedOf(dialect, frames));
        },
      ),
      { numRuns: 5, seed: 2612 },
    );
  });
});

describe('whatever the bytes are', () => {
  it('nothing throws, and every line of what is read is accounted for', async () => {
    const pieces = fc.array(
      fc.oneof(
        fc.constantFrom(
          '(1.000000) can0 100#01\n',
          'time,id,data\n',
          '0.1,100,0011\n',
          ',',
          '\0',
          '\r',
          '"',
          '\n',
          '1.5E+09',
          '\t',
        ),
        fc.string({ unit: 'binary' }),
      ),
      { maxLength: 60 },
    );
    await fc.assert(
      fc.asyncProperty(pieces, fc.integer({ min: 1, max: 64 }), async (parts, sliceBytes) => {
        // The invariant checker inside holds lines = accepted + rejected + passedOver.
        await tryReading(parts.join(''), { sliceBytes });
      }),
      { numRuns: 150, seed: 2613 },
    );
  });
});
