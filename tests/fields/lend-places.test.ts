/** What the identifiers of a bus teach of each other's tags: where they lie, which kin of their rules, and what is not told by that. */
import { describe, expect, it } from 'vitest';
import { findFields, findFieldsOfStream } from '../../src/fields/find.ts';
import { writeRaw, type Placement } from '../../src/frames/bits.ts';
import type { Stream } from '../../src/frames/table.ts';
import { createRandom } from '../../src/kit/random.ts';
import { addNibbles, divide, xorBytes } from '../truth/otherwise/payload/slow-checks.ts';
import { makeStream, physicalWalk, writeColumn } from './support/streams.ts';

const place = (byte: number, bit: number, length: number): Placement => ({
  lsb: { byte, bit },
  length,
  order: 'little',
});
const COUNT = 1500;

interface Wish {
  readonly id: number;
  readonly bytes: number;
  /** Of a tag of a byte; null: the high half of the last byte, the counter below it. */
  readonly tag: number | null;
  readonly counter: number | null;
  /** Bytes that move, with the least and the most of their values. */
  readonly moving: Readonly<Record<number, readonly [number, number]>>;
  /** A byte drawn anew in each frame. */
  readonly noisy?: number;
  readonly tagOf: (message: readonly number[]) => number;
}

function frames({ id, bytes, tag, counter, moving, noisy, tagOf }: Wish): Stream {
  const random = createRandom(`places ${id}`);
  const payload = new Uint8Array(COUNT * bytes);
  const still = Array.from({ length: bytes }, () => random.below(256));
  const at = tag === null ? place(bytes - 1, 4, 4) : place(tag, 0, 8);
  const counts = tag === null ? place(bytes - 1, 0, 4) : counter === null ? null : place(counter, 4, 4);
  for (let row = 0; row < COUNT; row++) payload.set(still, row * bytes);
  for (const [byte, [low, high]] of Object.entries(moving))
    writeColumn(payload, bytes, place(Number(byte), 0, 8), physicalWalk(random, COUNT, low, high));
  for (let row = 0; row < COUNT; row++) {
    const own = payload.subarray(row * bytes, (row + 1) * bytes);
    if (noisy !== undefined) own[noisy] = random.below(256);
    if (counts) writeRaw(counts, row % 16, own);
    writeRaw(at, 0, own);
    writeRaw(at, tagOf([...own]), own);
  }
  return makeStream(payload, bytes, id);
}

const SHIFT = { width: 8, poly: 0x1d, init: 0xff, reflected: false, xorout: 0 };
const LIVELY = [0, 255] as const;
const xorOf = (message: readonly number[]): number => xorBytes(message, 0x3c);
const last = async (streams: readonly Stream[]) => (await findFields(streams, {}, {})).at(-1)!;

describe('the bus says where a tag lies that could be any byte', () => {
  const middle = [0x101, 0x102, 0x103].map((id) =>
    frames({
      id,
      bytes: 8,
      tag: 3,
      counter: 4,
      moving: { 0: LIVELY, 1: LIVELY, 6: LIVELY },
      tagOf: (message) => divide(SHIFT, [...message.slice(0, 3), ...message.slice(4), id & 0xff]),
    }),
  );
  const wish = { id: 0x110, bytes: 5, tag: 2, counter: 1, moving: { 3: [0, 9] as const }, noisy: 0, tagOf: xorOf };

  it('in the middle of the frame, as others have it, though the edge is likelier by itself', async () => {
    expect(findFieldsOfStream(frames(wish), {}).checksums).toMatchObject([{ method: 'xor', lsb: { byte: 0, bit: 0 } }]);
    expect((await last([...middle, frames(wish)])).checksums).toMatchObject([
      { method: 'xor', lsb: { byte: 2, bit: 0 } },
    ]);
  });

  it('but not against how the bytes move: what hardly changes is no exclusive or of what does', async () => {
    const atEnd = {
      ...wish,
      id: 0x111,
      noisy: 1,
      bytes: 8,
      tag: 7,
      counter: null,
      moving: { 0: LIVELY, 3: [0, 2] as const },
    };
    expect((await last([...middle, frames(atEnd)])).checksums).toMatchObject([
      { method: 'xor', lsb: { byte: 7, bit: 0 } },
    ]);
  });
});

describe('kin of the rules of the bus', () => {
  const nibbles = [0x201, 0x202].map((id) =>
    frames({
      id,
      bytes: 8,
      tag: null,
      counter: null,
      moving: { 0: LIVELY, 2: LIVELY, 3: LIVELY },
      tagOf: (message) => addNibbles(message, 0) & 15,
    }),
  );
  const few = (id: number, most: number): Stream =>
    frames({
      id,
      bytes: 8,
      tag: null,
      counter: null,
      moving: { 1: [0, most] },
      tagOf: (message) => message.reduce((sum, byte) => sum ^ (byte >> 4) ^ (byte & 15), 5),
    });

  it('are tried as well: an exclusive or where others add', async () => {
    const stream = few(0x210, 3);
    expect(findFieldsOfStream(stream, {}).checksums).toEqual([]);
    const { checksums } = await last([...nibbles, stream]);
    expect(checksums).toMatchObject([{ method: 'xor', lsb: { byte: 7, bit: 4 }, length: 4 }]);
    expect(checksums[0]?.why).toContain('a rule akin to it');
  });
});

describe('parts of a long frame that are guarded apart', () => {
  /** Twice 12 bytes, each with a complemented sum in its last; byte 12 stands still. */
  const stream = (id: number): Stream => {
    const random = createRandom(`parts ${id}`);
    const payload = new Uint8Array(COUNT * 24);
    for (const byte of [0, 1, 4, 13, 15, 20])
      writeColumn(payload, 24, place(byte, 0, 8), physicalWalk(random, COUNT, 0, 255));
    for (let row = 0; row < COUNT; row++) {
      const own = payload.subarray(row * 24, (row + 1) * 24);
      own[12] = 0x5a;
      for (const from of [0, 12]) {
        own[from + 10] = row & 0xff;
        own[from + 11] = 0xff - (own.subarray(from, from + 11).reduce((sum, byte) => sum + byte, 0) & 0xff);
      }
    }
    return makeStream(payload, 24, id);
  };
  const upTo = (from: number): number[] => Array.from({ length: 11 }, (_, index) => from + index);

  it('are found with their own bytes alone, also of the other part one that stands still, and with what the bus has taught', async () => {
    const both = [
      { lsb: { byte: 11, bit: 0 }, covers: upTo(0), method: 'sum' },
      { lsb: { byte: 23, bit: 0 }, covers: upTo(12), method: 'sum' },
    ];
    for (const { checksums } of await findFields([stream(0x301), stream(0x302), stream(0x303)], {}, {}))
      expect([...checksums].sort((a, b) => a.lsb.byte - b.lsb.byte)).toMatchObject(both);
  });
});
