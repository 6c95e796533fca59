import { describe, expect, it } from 'vitest';
import { whyNotSent, whyNotSet } from '../../src/handover/encode-choice.ts';
import type { MapFrame } from '../../src/map/schema.ts';
import { aCounter, aFrame, aSignal } from '../support/map-parts.ts';

const counter = aCounter({ lsb: { byte: 6, bit: 0 }, length: 4 });
const lamp = aSignal({ name: 'lamp', lsb: { byte: 1, bit: 0 }, length: 1, kind: 'flag' });
const rest: MapFrame['rest'] = { payload: '00 00 00 00 00 00 00 00', capture: 'c1', fromS: 0, toS: 5 };
const frame = aFrame({ counters: [counter], signals: [lamp], rest });
const carried = (verdict: string): object => ({ carried: { capture: 'c2', verdict, detail: '', was: {} } });

describe('what another vehicle or another map spoke against', () => {
  it('is set and sent where nothing does, and where it held there', () => {
    const held = { ...counter, ...carried('holds') };
    expect(whyNotSent(frame)).toBeNull();
    expect(whyNotSent({ ...frame, counters: [held] })).toBeNull();
    expect(whyNotSet(frame, { ...lamp, ...carried('not-exercised') }, new Set())).toBeNull();
  });

  it('keeps a frame out whose guard failed there, or is told differently by two maps', () => {
    expect(whyNotSent({ ...frame, counters: [{ ...counter, ...carried('fails') }] })).toMatch(/counter failed/);
    expect(whyNotSent({ ...frame, counters: [{ ...counter, disputed: { confidence: 1 } }] })).toMatch(/differently/);
  });

  it('keeps a signal at rest that failed there, released by name or not', () => {
    const failed = { ...lamp, ...carried('fails') };
    expect(whyNotSet(frame, failed, new Set([`${frame.name}.lamp`]))).toMatch(/failed on the vehicle/);
  });
});
