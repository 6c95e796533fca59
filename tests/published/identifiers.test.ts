import { describe, expect, it } from 'vitest';
import { compileFrame } from '../../src/map/decode.ts';
import { splitJ1939Id } from '../../src/map/identifiers.ts';
import { aFrame, aSignal } from '../support/map-parts.ts';

// SAE J1939-21: identifier structure. The two example messages are from memory of SAE J1939-71.
describe('SAE J1939 identifiers', () => {
  it('takes 0CF00400 apart: priority 3, PGN 61444, source 0, for everyone', () => {
    expect(splitJ1939Id(0x0cf00400)).toEqual({
      priority: 3,
      extendedDataPage: 0,
      dataPage: 0,
      pduFormat: 0xf0,
      pduSpecific: 0x04,
      source: 0,
      pgn: 61444,
      destination: null,
    });
  });

  it('takes 18FEF100 apart: priority 6, PGN 65265', () => {
    expect(splitJ1939Id(0x18fef100)).toMatchObject({ priority: 6, pgn: 65265, source: 0, destination: null });
  });

  it('takes PS for a destination below PDU format 240 and leaves it out of the PGN', () => {
    // A request (PGN 59904) from F9 to 00.
    expect(splitJ1939Id(0x18ea00f9)).toMatchObject({ pgn: 59904, destination: 0, source: 0xf9 });
  });

  it('counts both data page bits into the PGN', () => {
    expect(splitJ1939Id(0x1bfef100)).toMatchObject({ extendedDataPage: 1, dataPage: 1, pgn: 0x3fef1 });
  });

  it('reads engine speed 700 rpm from FF 7D 7D E0 15 FF F0 FF', () => {
    const speed = aSignal({
      lsb: { byte: 3, bit: 0 },
      length: 16,
      scale: 0.125,
      unit: 'rpm',
      invalid: [
        { from: 0xfe00, to: 0xfeff, meaning: 'error' },
        { from: 0xff00, to: 0xffff, meaning: 'not available' },
      ],
    });
    const { decode } = compileFrame(aFrame({ signals: [speed] }));
    const payload = Uint8Array.of(0xff, 0x7d, 0x7d, 0xe0, 0x15, 0xff, 0xf0, 0xff);
    expect(decode(payload).signals[0]?.physical).toBe(700);
    payload.set([0xff, 0xff], 3);
    expect(decode(payload).signals[0]?.invalid).toBe('not available');
  });

  it('reads wheel-based speed 40 km/h from bytes 2 and 3 (from memory)', () => {
    const speed = aSignal({ lsb: { byte: 1, bit: 0 }, length: 16, scale: 1 / 256, unit: 'km/h' });
    const { decode } = compileFrame(aFrame({ signals: [speed] }));
    expect(decode(Uint8Array.of(0xff, 0x00, 0x28, 0xff, 0xff, 0xff, 0xff, 0xff)).signals[0]?.physical).toBe(40);
  });
});
