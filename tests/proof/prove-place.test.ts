import { describe, expect, it } from 'vitest';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import { createRandom } from '../../src/kit/random.ts';
import { proveMap } from '../../src/proof/hold/prove-map.ts';
import { aFrame, aMap, aSignal } from '../support/map-parts.ts';

/** A yaw rate by sign and magnitude, 15 bits from bit 0, that passes through zero all the time and dithers by a few steps. */
function yawing(name: string): PlainFrame[] {
  const random = createRandom(name);
  let rate = 0;
  return Array.from({ length: 3000 }, (_, row) => {
    rate = 0.9 * rate + random.between(-9, 9);
    const value = Math.round(rate);
    const raw = Math.abs(value) | (value < 0 ? 1 << 14 : 0);
    const data = Uint8Array.from([raw & 255, raw >> 8, 0, 0, 0, 0, 0, 0]);
    return { bus: 'can0', id: 0x2b0, data, timeUs: row * 10_000 };
  });
}

const rate = aSignal({
  name: 'yaw_rate',
  lsb: { byte: 0, bit: 0 },
  length: 15,
  coding: 'sign-magnitude',
  observed: { min: -80, max: 80 },
});

describe('a value beside its sign', () => {
  it.each(['one', 'two', 'three'])('holds though it turns about zero all the time (%s)', async (seed) => {
    const map = aMap([aFrame({ id: '0x2B0', name: 'yaw', signals: [rate] })]);
    const report = await proveMap({ table: buildTable(yawing(seed)), map });
    const item = report.frames[0]?.items.find(({ name }) => name === 'yaw_rate');
    expect(item?.detail).not.toContain('further');
    expect(item?.verdict).toBe('holds');
  });
});
