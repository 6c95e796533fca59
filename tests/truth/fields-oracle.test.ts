/** Why fields were missed, on payloads small enough to judge by hand. */
import { expect, it } from 'vitest';
import type { Stream } from '../../src/frames/table.ts';
import { createRandom } from '../../src/kit/random.ts';
import { verdictsOf } from './fields-oracle.ts';
import { Sight, type KnownField } from './fields-truth.ts';

const fieldAt = (bit: number, length: number): KnownField => ({
  place: { lsb: { byte: bit >> 3, bit: bit & 7 }, length, order: 'little' },
  on: [],
  coding: 'unsigned',
  kind: 'number',
  model: '',
  quantity: null,
  kin: null,
  blurred: false,
});

function verdicts(payloads: readonly number[], fields: readonly KnownField[], claims: readonly KnownField[]): string[] {
  const stream = {
    bus: 'can0',
    id: 1,
    extended: false,
    direction: 'received',
    stride: 2,
    length: 2,
    count: payloads.length,
    payload: Uint8Array.from(payloads.flatMap((word) => [word & 255, word >> 8])),
  } as unknown as Stream;
  const sight = new Sight(stream);
  const claimed = new Set(sight.seeAll(claims).map(({ key }) => key));
  const none = { counters: [], checksums: [] };
  return [...verdictsOf(sight.seeAll(fields), claimed, none, sight).values()];
}

/** A value that goes up and down over both bytes, in steps that a number takes. */
const swing = Array.from({ length: 400 }, (_, row) => Math.round(30000 * (1 + Math.sin(row / 30))));

it('says that guards stood before a field that the division has, and nothing of one that was claimed', () => {
  expect(verdicts(swing, [fieldAt(0, 16)], [])).toEqual(['behind guards']);
  expect(verdicts(swing, [fieldAt(0, 16)], [fieldAt(0, 16)])).toEqual([]);
});

it('says that the payloads speak against a truth that cuts a smooth number in two', () => {
  expect(verdicts(swing, [fieldAt(0, 12), fieldAt(12, 4)], [])).toEqual(['dearer', 'dearer']);
});

it('calls a toss what changes now together and now apart', () => {
  const mixed = Array.from({ length: 200 }, (_, row) => (row < 60 || row >= 160 ? 0 : row < 120 ? 3 : 1));
  expect(verdicts(mixed, [fieldAt(0, 1), fieldAt(1, 1)], [])).toEqual(['toss', 'toss']);
});

it('knows of values that no model holds', () => {
  const random = createRandom('coins');
  const coins = swing.map(() => random.below(256));
  expect(verdicts(coins, [fieldAt(0, 8)], [])).toEqual(['no model']);
});
