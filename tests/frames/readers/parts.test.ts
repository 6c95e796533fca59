/** The parts that readers are made of, held against what others say. */
import fc from 'fast-check';
import Papa from 'papaparse';
import { describe, expect, it } from 'vitest';
import { CellCutter } from '../../../src/frames/columns/cell-cutter.ts';
import { guessIdForm } from '../../../src/frames/columns/id-form.ts';
import { parsePayload } from '../../../src/frames/columns/payload-text.ts';
import { type ColumnPlan, formatPlan, parsePlan } from '../../../src/frames/columns/plan.ts';
import { LineCutter, textOf } from '../../../src/frames/reading/lines.ts';
import { exactSeconds } from '../../../src/frames/reading/origin.ts';
import { parseDateStamp, parseNumberStamp, parseTimeOfDay } from '../../../src/frames/reading/stamps.ts';

const encode = (text: string): Uint8Array => new TextEncoder().encode(text);

describe('stamps', () => {
  // Source: the platform's own calendar (ECMAScript Date, proleptic Gregorian), over 1971 to 2099.
  it('agree with the platform on dates', () => {
    fc.assert(
      fc.property(fc.integer({ min: 365 * 86_400_000, max: 4_070_908_799_999 }), (ms) => {
        const stamp = parseDateStamp(new Date(ms).toISOString(), 0, 'day-first');
        expect(stamp && stamp.seconds * 1000 + stamp.fractionUs / 1000).toBe(ms);
      }),
    );
  });

  it.each([
    ['2026-11-25 10:00:00', 0, 1795600800],
    ['2026-11-25T10:00:00+02:00', 0, 1795593600],
    ['2026-11-25T10:00:00', 7200, 1795593600],
    ['25.11.2026 10:00:00,5', 0, 1795600800],
    ['25/11/2026 10:00', 0, 1795600800],
    ['2026-11-25 10:00:00 PM', 0, 1795644000],
  ])('%s', (text, zoneS, seconds) => {
    expect(parseDateStamp(text, zoneS, 'day-first')?.seconds).toBe(seconds);
  });

  it('keep microseconds of any unit exactly', () => {
    fc.assert(
      fc.property(fc.bigInt({ min: 0n, max: 4_000_000_000_000_000n }), (us) => {
        for (const [unit, text] of [
          ['seconds', `${us / 1_000_000n}.${String(us % 1_000_000n).padStart(6, '0')}`],
          ['milliseconds', `${us / 1000n}.${String(us % 1000n).padStart(3, '0')}`],
          ['microseconds', String(us)],
          ['nanoseconds', `${us}000`],
        ] as const) {
          const stamp = parseNumberStamp(text, unit);
          expect(stamp && BigInt(stamp.seconds) * 1_000_000n + BigInt(stamp.fractionUs)).toBe(us);
        }
      }),
    );
  });

  it('are refused where they are none', () => {
    expect(parseNumberStamp('1.5E+09', 'seconds')).toBeNull();
    expect(parseDateStamp('2026-13-25 10:00:00', 0, 'day-first')).toBeNull();
    expect(parseTimeOfDay('10:61:00')).toBeNull();
  });

  it('print the origin exactly', () => {
    expect(exactSeconds(1_764_064_800, 125, 6)).toBe('1764064800.000125');
    expect(exactSeconds(10, -500_000, 3)).toBe('9.500');
    expect(exactSeconds(0, -20_000, 6)).toBe('-0.020000');
    expect(exactSeconds(1, 0.007, 6)).toBe('1.000000007');
  });
});

describe('cells', () => {
  // Reference: papaparse, the library that the unusual rows go through.
  it('are the same as the library cuts, quoted or not', () => {
    const cell = fc.oneof(
      fc.constantFrom('', '1A0', '0.5', 'a "b" c', 'x,y', '"', ' 12 '),
      fc.stringMatching(/^[a-z0-9 ,"]{0,8}$/),
    );
    fc.assert(
      fc.property(fc.array(cell, { minLength: 2, maxLength: 9 }), (cells) => {
        const line = Papa.unparse([cells]);
        const cutter = new CellCutter('comma');
        const bytes = encode(line);
        cutter.cut(bytes, 0, bytes.length);
        const found = Array.from({ length: cutter.count }, (_each, i) => cutter.text(i));
        expect(found).toEqual(cells.map((each) => each.trim()));
      }),
    );
  });
});

describe('lines', () => {
  it('are the same however the bytes are sliced', () => {
    const text = fc
      .array(fc.constantFrom('a', 'bc', '\r', '\n', '\r\n', ''), { maxLength: 40 })
      .map((parts) => parts.join(''));
    fc.assert(
      fc.property(text, fc.integer({ min: 1, max: 7 }), (all, size) => {
        const lines: string[] = [];
        const cutter = new LineCutter((bytes, from, to) => lines.push(textOf(bytes, from, to)));
        const bytes = encode(all);
        for (let at = 0; at < bytes.length; at += size) cutter.push(bytes.subarray(at, at + size));
        cutter.finish();
        const expected = all.split(/\r\n|\r|\n/);
        if (expected.at(-1) === '') expected.pop();
        expect(lines).toEqual(expected);
      }),
    );
  });
});

describe('payloads in a cell', () => {
  it.each([
    ['00FF10', 'hex', [0, 255, 16]],
    ['00 ff 1', 'hex', [0, 255, 1]],
    ['0x00FF', 'hex', [0, 255]],
    ['0x00 0xFF', 'hex', [0, 255]],
    ['0x000xFF', 'hex', [0, 255]],
    ['[00-FF]', 'hex', [0, 255]],
    ['00FF 1020', 'hex', [0, 255, 16, 32]],
    ['12 255 0', 'decimal', [12, 255, 0]],
    ['0000000111111111', 'binary', [1, 255]],
    ['', 'hex', []],
  ] as const)('%s as %s', (text, form, bytes) => {
    expect(parsePayload(text, form)).toEqual(bytes);
  });

  it.each([
    ['0FF', 'hex', /odd number/],
    ['xyz', 'hex', /other than hex/],
    ['1.2E+10', 'hex', /spreadsheet/],
    ['12 256', 'decimal', /above 255/],
    ['0102', 'binary', /other than binary/],
    ['0101', 'binary', /whole bytes/],
  ] as const)('%s as %s is refused', (text, form, words) => {
    expect(parsePayload(text, form)).toMatch(words);
  });
});

describe('the base of identifiers', () => {
  it.each([
    [['100', '200', '1A0'], 'hex'],
    [['044', '100'], 'hex'],
    [['0x10', '0x20'], 'hex'],
    [['100', '200', '300'], 'hex'],
    [['416', '1200', '2047', '33', '1536'], 'decimal'],
    [['419361024', '419364864'], 'decimal'],
    [['1A0', '00000123'], 'hex-wide'],
  ])('%j is %s', (texts, form) => {
    expect(guessIdForm('', texts).form).toBe(form);
  });

  it('is what the heading says, where digits leave it open', () => {
    expect(guessIdForm('ID (dec)', ['100', '200']).form).toBe('decimal');
    expect(guessIdForm('ID hex', ['416', '1200', '2047']).form).toBe('hex');
  });
});

describe('columns as text', () => {
  it('round-trip', () => {
    const text =
      'tab; skip=3; time=2 date-day-first; id=4 hex-wide; bytes=6-13 decimal; date=1; milliseconds=none; microseconds=none; nanoseconds=none; bus=none; direction=3; sent=none; received=none; extended=none; length=5; kind=none; remote=none; fd=none; brs=none; esi=none';
    const parsed = parsePlan(text);
    expect(parsed).toMatchObject({
      ok: true,
      value: {
        delimiter: 'tab',
        skip: 3,
        id: { column: 3, form: 'hex-wide' },
        bytes: { column: 5, count: 8 },
        plain: { bus: null, date: 0 },
      },
    });
    const plan: ColumnPlan = {
      delimiter: 'tab',
      skip: 3,
      time: { column: 1, form: 'date-day-first' },
      id: { column: 3, form: 'hex-wide' },
      data: null,
      bytes: { column: 5, count: 8, form: 'decimal' },
      plain: { date: 0, direction: 2, length: 4 },
    };
    expect(formatPlan(plan)).toBe(text);
  });
});
