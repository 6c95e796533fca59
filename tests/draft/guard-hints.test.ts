/** Guards in words that are alike where the code that wrote them is: whatever the frame's length, identifier or counter name. */
import { expect, test } from 'vitest';
import { guardHints } from '../../src/draft/guard-hints.ts';
import type { FrameFindings } from '../../src/fields/types.ts';

const crc = (byte: number, part: object = {}): object => ({
  lsb: { byte, bit: 0 },
  length: 8,
  order: 'little',
  method: 'crc',
  width: 8,
  poly: '0x1D',
  init: '0xFF',
  suffix: [`0x${byte}`],
  confidence: 0.97,
  ...part,
});

function hintsOf(frames: readonly (readonly [id: string, length: number, checksum: object])[]): (string | undefined)[] {
  const findings = frames.map(([id, length, checksum]) => ({
    bus: 'can0',
    id,
    extended: false,
    direction: 'received',
    length,
    checksums: [checksum],
    counters: [],
  }));
  const hints = guardHints(findings as unknown as FrameFindings[]);
  return frames.map(([id]) => hints.get(`can0/${id}/false`));
}

test('one rule at the end of frames of two lengths is one text, another polynomial another', () => {
  const [eight, six, other] = hintsOf([
    ['0x100', 8, crc(7)],
    ['0x101', 6, crc(5)],
    ['0x102', 8, crc(7, { poly: '0x2F' })],
  ]);
  expect(eight).toBeDefined();
  expect(six).toBe(eight);
  expect(other).not.toBe(eight);
});

test('what is unsure, or no rule, says nothing', () => {
  const unsure = crc(7, { confidence: 0.6 });
  const secret = crc(7, { method: 'mac' });
  expect(
    hintsOf([
      ['0x100', 8, unsure],
      ['0x101', 8, secret],
    ]),
  ).toEqual([undefined, undefined]);
});
