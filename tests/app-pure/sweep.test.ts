/** Sweeping over threads: the field between two threads in either order, checked by the one bit rule. */
import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { bitPositions, placementLength } from '../../src/frames/bits.ts';
import { limitSweep, otherOrder, placementBetween, stepThread } from '../../src/app/places/payloads/sweep.ts';
import { decisionsOf, placeField, refuseField, takeBack } from '../../src/app/places/payloads/decisions.ts';
import { emptyDossier } from '../../src/jobs/dossier.ts';

const bit = fc.integer({ min: 0, max: 63 });

describe('a sweep between two threads', () => {
  it('has both threads as its ends, whichever was first', () => {
    fc.assert(
      fc.property(bit, bit, fc.constantFrom('little' as const, 'big' as const), (anchor, head, order) => {
        const placement = placementBetween({ anchor, head }, order);
        const bits = bitPositions(placement);
        expect(new Set([bits[0], bits.at(-1)])).toEqual(new Set([anchor, head]));
        expect(placementBetween({ anchor: head, head: anchor }, order)).toEqual(placement);
        expect(bits.every((position) => position >= 0 && position < 64)).toBe(true);
      }),
    );
  });
  it('is written little within one byte', () => {
    expect(placementBetween({ anchor: 31, head: 28 }, 'big')).toEqual({
      lsb: { byte: 3, bit: 4 },
      length: 4,
      order: 'little',
    });
  });
  it('reads the contract example both ways: twelve bits from byte 2 bit 0 to byte 3 bit 3, little', () => {
    expect(placementBetween({ anchor: 16, head: 27 }, 'little')).toEqual({
      lsb: { byte: 2, bit: 0 },
      length: 12,
      order: 'little',
    });
  });
  it('never grows beyond what a number holds', () => {
    fc.assert(
      fc.property(bit, bit, fc.constantFrom('little' as const, 'big' as const), (anchor, head, order) => {
        const limited = limitSweep({ anchor, head }, order);
        expect(placementLength(placementBetween(limited, order))).toBeLessThanOrEqual(53);
        expect(limited.anchor).toBe(anchor);
      }),
    );
  });
});

describe('the other order', () => {
  it('keeps whole bytes and comes back', () => {
    const big = { lsb: { byte: 1, bit: 0 }, length: 16, order: 'big' } as const;
    expect(otherOrder(big)).toEqual({ lsb: { byte: 0, bit: 0 }, length: 16, order: 'little' });
    expect(otherOrder(otherOrder(big))).toEqual(big);
  });
  it('leaves a field within one byte, and one in pieces, as it is', () => {
    const small = { lsb: { byte: 1, bit: 2 }, length: 4, order: 'little' } as const;
    expect(otherOrder(small)).toBe(small);
  });
});

it('walks down the threads from byte to byte and stays inside', () => {
  expect(stepThread(0, 1, 8)).toBe(15);
  expect(stepThread(7, -1, 8)).toBe(7);
  expect(stepThread(56, 5, 8)).toBe(56);
});

describe('decisions about fields', () => {
  const frame = { bus: 'can0', id: '0x1F4', extended: false };
  const placement = { lsb: { byte: 1, bit: 0 }, length: 16, order: 'big' } as const;
  it('stand once for the same bits, the latest one, and can be taken back', () => {
    const placed = placeField(emptyDossier(), frame, placement, 'signed');
    const refused = refuseField(placed, frame, placement);
    expect(decisionsOf(refused, frame)).toMatchObject([{ kind: 'refused', placement }]);
    expect(decisionsOf(takeBack(refused, frame, placement), frame)).toEqual([]);
    expect(decisionsOf(refused, { ...frame, bus: 'can1' })).toEqual([]);
  });
});
