import { beforeAll, describe, expect, it } from 'vitest';
import { generateC } from '../../../src/handover/c/source.ts';
import { requireGcc } from '../../support/compile-c.ts';
import { aChecksum, aCounter, aFrame, aMap, aSelector, aSignal } from '../../support/map-parts.ts';
import { compiled } from './held.ts';

beforeAll(requireGcc);

describe('names and texts from strangers', () => {
  const hostile = [
    '*/ #include "/etc/passwd" /*',
    '"; system("x"); //',
    'a\nb',
    '??/',
    '??=define x',
    '\\',
    'int',
    'class',
    'SM_OK',
    '',
    '123',
    '=1+1',
    '<script>alert(1)</script>',
    'é',
    'payload',
    'failed',
    'x_valid',
    'x',
    'sm_status',
    'crc',
    'receiver',
    'count',
    'receive',
    'sequence',
    'sequence_x',
    'steps',
    'filters_can0_base',
    'x_heard',
    'sm_x_heard',
    'sm_count',
    'values',
    'bus_can0',
    'X',
    'crc_table_0',
    'crc table 0 of',
    'x!',
    '\u202e/* */',
    'line \\\n continued',
  ];
  it('compile, each under a name of its own', () => {
    const signals = hostile.map((name, i) =>
      aSignal({
        name: name || 'unnamed',
        lsb: { byte: i % 28, bit: 4 * Math.floor(i / 28) },
        length: 4,
        unit: name,
        kind: 'states',
        states: Object.fromEntries(hostile.slice(0, 16).map((text, raw) => [String(raw), text])),
      }),
    );
    const frames = hostile.map((name, i) =>
      aFrame({
        id: `0x${(0x100 + i).toString(16).toUpperCase()}`,
        name,
        bus: name,
        length: 32,
        fd: true,
        // The first frame has them all; a few more in each of the others, with all in turn.
        signals: i === 0 ? signals : signals.slice(i, i + 4),
        role: 'sent-by-part',
        counters: [aCounter({ name, lsb: { byte: 30, bit: 0 }, length: 4 })],
        selectors: [aSelector({ name, lsb: { byte: 31, bit: 0 }, length: 4 })],
        // One by a function for all, one by the function for any CRC, one by a table.
        checksums: [
          aChecksum({ lsb: { byte: 30, bit: 4 }, length: 4, method: 'xor', covers: [0] }),
          aChecksum({ lsb: { byte: 28, bit: 0 }, length: 8, method: 'crc', poly: '0x1D', unit: 'nibble', covers: [0] }),
          aChecksum({ lsb: { byte: 29, bit: 0 }, length: 8, method: 'crc', poly: '0x1D', covers: [0] }),
        ],
      }),
    );
    const map = aMap(frames, {
      sequences: hostile.map((name, i) => ({
        ...{ name, event: name, n: 2 },
        steps: [
          {
            ...{ bus: name, id: `0x${(0x100 + i).toString(16).toUpperCase()}`, signal: name || 'unnamed' },
            ...{ from: 0, to: 1, group: name, delayMs: [0, 10], seen: 2 },
          },
        ],
      })),
      part: { title: hostile.join(' '), donor: '', notes: '' },
      made: { by: hostile.join(' '), at: '' },
    });
    const code = generateC(map, { cautions: hostile, crc: 'table' });
    expect(new Set(code.frames.map(({ stem }) => stem)).size).toBe(frames.length);
    for (const text of [code.header, code.source]) {
      // Tab and line feed apart, printable ASCII only; no trigraph, no line joined to the next, no comment opened twice.
      expect(text).not.toMatch(/[^\x20-\x7e\n]/);
      expect(text).not.toMatch(/\?\?[=/'()!<>-]/);
      expect(text).not.toMatch(/\\\n/);
      const code = text.replace(/\/\*[\s\S]*?\*\//g, '').replace(/"signal_map\.h"|extern "C"/g, '');
      expect(code).not.toMatch(/["\\]|\*\/|<script|system\(/);
    }
    expect(() => compiled(code, 'int main(void) { return 0; }\n').remove()).not.toThrow();
  });
});
