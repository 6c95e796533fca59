/** Which bits the marks' clock is found by where only modes are named: flags, not numbers, and the same moment but once. */
import { describe, expect, it } from 'vitest';
import { switchingBits } from '../../src/actions/switching-bits.ts';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';

/** A hundred seconds; ten frames a second: a counter, a flag that switches every 20 s with its copy, one that never does. */
function frames(id: number): PlainFrame[] {
  return Array.from({ length: 1000 }, (_, row): PlainFrame => {
    const on = Math.floor(row / 200) & 1;
    return { timeUs: row * 100_000, bus: 'can0', id, data: [row & 255, on ? 0b101 : 0, row === 500 ? 1 : 0, 0x80] };
  });
}

describe('bits that now and then switch', () => {
  const found = switchingBits(buildTable(frames(0x120), { kind: 'epoch', text: '1773043272.000000' }));

  it('are flags, and the slowest bits of a counter, once each where two switch alike', () => {
    const names = found.flatMap(({ fields }) => fields.map(({ name }) => name));
    // The counter's bits 0..7 switch every 0.1 to 12.8 s: slower than every two seconds are those from 5 on.
    expect(names).toEqual(['bit 1.0', 'bit 0.7', 'bit 0.6', 'bit 0.5']);
  });

  it('are none of what the logger sent, nor of what switches all the while', () => {
    const sent = frames(0x120).map((frame): PlainFrame => ({ ...frame, direction: 'sent' }));
    expect(switchingBits(buildTable(sent, { kind: 'none', text: '0' }))).toEqual([]);
    const fast = frames(0x120).map((frame, row): PlainFrame => ({ ...frame, data: [row & 3] }));

    expect(switchingBits(buildTable(fast, { kind: 'none', text: '0' }))).toEqual([]);
  });
});
