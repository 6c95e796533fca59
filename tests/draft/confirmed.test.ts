import { describe, expect, it } from 'vitest';
import { decisionsOfMap, withConfirmed } from '../../src/draft/confirmed.ts';
import type { Decision } from '../../src/draft/types.ts';
import { aChecksum, aCounter, aFrame, aSelector, aSignal } from '../support/map-parts.ts';

const byHand = { evidence: [{ kind: 'by-hand' as const }] };
const spot = ({ lsb, length }: { lsb: { byte: number; bit: number }; length: number }): string =>
  `${lsb.byte}.${lsb.bit}+${length}`;
const bound = (decisions: readonly Decision[]): string[] =>
  decisions.map(({ kind, placement }) => `${kind} ${spot(placement)}`);
const signal = (byte: number, part: object) => aSignal({ lsb: { byte, bit: 0 }, length: 8, ...part });

describe('what binds of a map given back', () => {
  it('is what was proven, supported or set by hand, and no guess', () => {
    const signals = [
      signal(0, { standing: 'guess' }),
      signal(1, { standing: 'supported' }),
      signal(2, { standing: 'proven', coding: 'signed' }),
      signal(3, { standing: 'guess', ...byHand }),
    ];
    const decisions = decisionsOfMap({ frames: [aFrame({ signals })] });
    expect(bound(decisions)).toEqual(['field 1.0+8', 'field 2.0+8', 'field 3.0+8']);
    expect(decisions[1]).toMatchObject({ bus: 'can0', id: '0x123', extended: false, coding: 'signed' });
  });

  it('is nothing that stands on one page only, and no text', () => {
    const signals = [
      signal(1, { standing: 'proven', when: { page: [1] } }),
      signal(2, { standing: 'proven', kind: 'text', coding: 'text' }),
    ];
    const selectors = [aSelector({ name: 'page', lsb: { byte: 0, bit: 0 }, length: 8 })];
    expect(decisionsOfMap({ frames: [aFrame({ signals, selectors })] })).toEqual([]);
  });

  it('is of guards what was set by hand', () => {
    const counter = aCounter({ lsb: { byte: 6, bit: 0 }, length: 4 });
    const checksum = aChecksum({ lsb: { byte: 7, bit: 0 }, length: 8, method: 'xor' });
    const found = aFrame({ counters: [counter], checksums: [checksum] });
    expect(decisionsOfMap({ frames: [found] })).toEqual([]);
    const set = aFrame({ counters: [{ ...counter, ...byHand }], checksums: [{ ...checksum, ...byHand }] });
    const decisions = decisionsOfMap({ frames: [set] });
    expect(bound(decisions)).toEqual(['rule 6.0+4', 'rule 7.0+8']);
    expect(decisions[0]?.counter).toMatchObject({ length: 4 });
    expect(decisions[1]?.checksum).toMatchObject({ length: 8 });
  });
});

it('lets what was decided about the very bits stand before a signal named there', () => {
  const frame = { bus: 'can0', id: '0x123', extended: false };
  const refused: Decision = {
    ...frame,
    kind: 'refused',
    placement: { lsb: { byte: 1, bit: 0 }, length: 8, order: 'little' },
  };
  const named = [1, 2].map((byte) => ({ ...frame, signal: signal(byte, { standing: 'supported' }) }));
  expect(bound(withConfirmed([refused], named))).toEqual(['refused 1.0+8', 'field 2.0+8']);
});
