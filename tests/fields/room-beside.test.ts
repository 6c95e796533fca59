import { describe, expect, it } from 'vitest';
import type { Piece } from '../../src/frames/bits.ts';
import { blankSignal } from '../../src/map/blank-signal.ts';
import type { Coding } from '../../src/frames/bits.ts';
import type { When } from '../../src/map/schema.ts';
import { withRoom } from '../../src/fields/room-beside.ts';
import type { FieldFinding } from '../../src/fields/types.ts';

const piece = (byte: number, bit: number, length: number, order: Piece['order'] = 'little'): Piece => ({
  lsb: { byte, bit },
  length,
  order,
});

function field(place: Piece, coding: Coding = 'unsigned', when: When = null): FieldFinding {
  return { ...blankSignal(place, 'value', when), coding, kind: 'number', confidence: 0.9, why: 'It moves.' };
}

function rowsOf(payloads: readonly (readonly number[])[]) {
  const bytes = payloads[0]!.length;
  return {
    bytes,
    count: payloads.length,
    data: Uint8Array.from(payloads.flat()),
    joined: Uint8Array.from(payloads, (_, row) => (row > 0 ? 1 : 0)),
  };
}

const none = { counters: [], checksums: [], selectors: [], fields: [] };
const roomOf = (payloads: readonly (readonly number[])[], fields: FieldFinding[], more: object = {}) =>
  withRoom(rowsOf(payloads), { ...none, ...more, fields }).map(({ mayExtend, why }) => ({ ...mayExtend, why }));

// Bits 2..5 of byte 1 move; everything else stays.
const inOneByte = [
  [0, 0b000100, 0],
  [0, 0b111000, 0],
];

describe('room beside a value', () => {
  it('ends with the byte where no value around tells the order', () => {
    expect(roomOf(inOneByte, [field(piece(1, 2, 4))])).toEqual([
      { above: 2, below: 2, why: 'It moves. It may go on into 2 bits above and 2 bits below that never moved.' },
    ]);
  });

  it('goes on over bytes in the order of the values around it, and stops at bits that something holds', () => {
    const payloads = [
      [0, 0b000100, 0, 0x00, 0x00],
      [0, 0b111000, 0, 0xff, 0xff],
    ];
    const little = [field(piece(1, 2, 4)), field(piece(3, 0, 16))];
    expect(roomOf(payloads, little)).toMatchObject([
      { above: 10, below: 10 },
      { above: 0, below: 10 },
    ]);
    const big = [field(piece(1, 2, 4)), field(piece(4, 0, 16, 'big'))];
    expect(roomOf(payloads, big)[0]).toMatchObject({ above: 10, below: 10 });
    const counters = [{ ...piece(2, 0, 4), when: null }];
    expect(roomOf(payloads, little, { counters })[0]).toMatchObject({ above: 2, below: 10 });
    expect(roomOf(payloads, big, { counters })[0]).toMatchObject({ above: 10, below: 6 });
  });

  it('has none above a value that went through zero: its sign moved, and would have moved there too', () => {
    const [room] = roomOf(inOneByte, [field(piece(1, 2, 4), 'signed')]);
    expect(room).toMatchObject({ above: 0, below: 2 });
    expect(room?.why).toBe('It moves. It may go on into 2 bits below that never moved.');
    expect(roomOf(inOneByte, [field(piece(1, 2, 4), 'sign-magnitude')])).toMatchObject([{ above: 0, below: 2 }]);
  });

  it('is what stands still on the pages of the value, whatever other pages do', () => {
    const selectors = [{ name: 'page', ...piece(0, 0, 1), when: null, confidence: 1 }];
    const payloads = [
      [0, 0b000100, 0],
      [1, 0b000000, 0],
      [0, 0b111000, 0],
      [1, 0b1000011, 0],
    ];
    const onPage = field(piece(1, 2, 4), 'unsigned', { page: [0] });
    const always = field(piece(1, 2, 4));
    expect(roomOf(payloads, [onPage], { selectors })).toMatchObject([{ above: 2, below: 2 }]);
    expect(roomOf(payloads, [always], { selectors })).toMatchObject([{ above: 0, below: 0 }]);
  });

  it('is not said of what a person placed', () => {
    const [room] = roomOf(inOneByte, [{ ...field(piece(1, 2, 4)), confidence: 1 }]);
    expect(room).toEqual({ why: 'It moves.' });
  });
});
