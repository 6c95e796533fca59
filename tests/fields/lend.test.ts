/** Rules lent from one identifier of a bus to another: what is too little alone is enough with a known rule, and nothing more is. */
import { describe, expect, it } from 'vitest';
import { verify } from '../../src/fields/checksums/judge.ts';
import { findFields, findFieldsOfStream } from '../../src/fields/find.ts';
import { habitsOf, wantsAnotherLook } from '../../src/fields/habits.ts';
import { rowsOfStream } from '../../src/fields/payload-rows.ts';
import { writeRaw, type Placement } from '../../src/frames/bits.ts';
import type { FrameTable, Stream } from '../../src/frames/table.ts';
import { inPlaceRunner, runAnalysis, type PartRunner } from '../../src/jobs/run-analysis.ts';
import { createRandom } from '../../src/kit/random.ts';
import type { MapChecksum } from '../../src/map/schema.ts';
import { divide, xorBytes } from '../truth/otherwise/payload/slow-checks.ts';
import { makeStream, physicalWalk, writeColumn } from './support/streams.ts';

const place = (byte: number, bit: number, length: number): Placement => ({
  lsb: { byte, bit },
  length,
  order: 'little',
});
const POLY_2F = { width: 8, poly: 0x2f, init: 0xff, reflected: false, xorout: 0xff };
type TagOf = (message: readonly number[]) => number;
const crcWith =
  (secret: number): TagOf =>
  (message) =>
    divide(POLY_2F, [...message, secret]);

/** A counter of four bits in byte 6 and a tag in byte 7; bytes 0 to 5 drift, or stand still but for `moves` values in byte 2. */
function frames(seed: string, id: number, tagOf: TagOf, count: number, moves?: readonly number[]): Stream {
  const random = createRandom(seed);
  const payload = new Uint8Array(count * 8);
  const still = Array.from({ length: 6 }, () => random.below(256));
  if (!moves)
    for (const byte of [0, 1, 3]) writeColumn(payload, 8, place(byte, 0, 8), physicalWalk(random, count, 0, 255));
  for (let row = 0; row < count; row++) {
    const own = payload.subarray(row * 8, row * 8 + 8);
    if (moves) {
      own.set(still);
      own[2] = moves[Math.floor((row * moves.length) / count)] as number;
    }
    writeRaw(place(6, 0, 4), moves ? 0 : row % 16, own);
    own[7] = tagOf([...own.subarray(0, 7)]);
  }
  return makeStream(payload, 8, id);
}

const solved = [0x101, 0x102, 0x103].map((id) => frames(`solved ${id}`, id, crcWith(id & 0xff), 1500));
const FEW = [0x10, 0x13, 0x2c, 0x40, 0x85];

describe('a rule of the bus, lent to an identifier of few payloads', () => {
  it('is found with the odds of its being chance, and holds on payloads that were not seen', async () => {
    const tagOf = crcWith(0x5e);
    const few = frames('few', 0x104, tagOf, 300, FEW);
    expect(findFieldsOfStream(few, {}).checksums).toEqual([]);
    const found = (await findFields([...solved, few], {}, {})).at(-1)!;
    expect(found.checksums).toMatchObject([{ lsb: { byte: 7, bit: 0 }, length: 8, method: 'crc', poly: '0x2F' }]);
    expect(found.checksums[0]?.why).toMatch(
      /rule of 3 other identifiers of the bus; by chance it would fit here in (less than )?one of/,
    );
    expect(found.checksums[0]?.undetermined).toContainEqual({ byte: 0, bit: 0 });
    const again = rowsOfStream(frames('few', 0x104, tagOf, 300, [0x77, 0xff, 0x01]));
    expect(verify(found.checksums[0] as MapChecksum, [], again)).toEqual({ passed: 300, checked: 300 });
  });

  it('is lent in the job too, which takes every identifier apart: the second round has what the first taught', async () => {
    const streams = [...solved, frames('few', 0x104, crcWith(0x5e), 300, FEW)];
    const table = {
      streams: streams.map((stream, index) => ({ ...stream, index })),
      frameCount: streams.reduce((sum, { count }) => sum + count, 0),
    } as unknown as FrameTable;
    const inPlace = inPlaceRunner();
    const asked: string[] = [];
    const counted: PartRunner = {
      ...inPlace,
      run: (job, request, part, control) => {
        asked.push(part.streams.map(({ id }) => id.toString(16)).join());
        return inPlace.run(job, request, part, control);
      },
    };
    const request = { job: 'fields', streams: 'all', options: {} };
    const answer = await runAnalysis(table, 'fields', request, counted, {});
    expect(answer).toEqual(await findFields(streams, {}, {}));
    expect(asked).toHaveLength(5);
    expect(asked.at(-1)).toBe('104');
  });

  it('is not claimed where the tag obeys another rule, nor where nothing but chance agrees', async () => {
    const other = frames(
      'other',
      0x104,
      (message) =>
        xorBytes(
          message.map((byte) => (byte * 7) & 0xff),
          3,
        ),
      300,
      FEW,
    );
    const random = createRandom('no tag');
    const table = new Map<number, number>();
    const none = frames(
      'none',
      0x105,
      (message) => {
        if (!table.has(message[2] as number)) table.set(message[2] as number, random.below(256));
        return table.get(message[2] as number) as number;
      },
      300,
      FEW,
    );
    const found = await findFields([...solved, other, none], {}, {});
    expect(found.slice(-2).flatMap(({ checksums }) => checksums)).toEqual([]);
  });

  it('solves a tag with a secret for each counter value of which alone was said that it has no known rule', async () => {
    const byCounter = (seed: string): TagOf => {
      const random = createRandom(seed);
      const secrets = Array.from({ length: 16 }, () => random.below(256));
      return (message) => divide(POLY_2F, [...message, secrets[(message[6] as number) & 15] as number]);
    };
    const bus = [0x201, 0x202].map((id) => frames(`table ${id}`, id, byCounter(`secrets ${id}`), 3000));
    const tagOf = byCounter('secrets of few');
    const few = frames('few of table', 0x203, () => 0, 1100, FEW.slice(0, 4));
    for (let row = 0; row < few.count; row++) {
      const own = few.payload.subarray(row * 8, row * 8 + 8);
      own[6] = row % 16;
      own[7] = tagOf([...own.subarray(0, 7)]);
    }
    expect(findFieldsOfStream(few, {}).checksums).toMatchObject([{ lsb: { byte: 7, bit: 0 }, method: 'unsolved' }]);
    const found = (await findFields([...bus, few], {}, {})).at(-1)!;
    expect(found.checksums).toMatchObject([{ lsb: { byte: 7, bit: 0 }, length: 8, method: 'crc', poly: '0x2F' }]);
    expect(found.checksums[0]?.suffixByCounter).toHaveLength(16);
  });

  it('asks for another look only where a tag may lie', () => {
    const first = solved.map((stream) => findFieldsOfStream(stream, {}));
    const habits = habitsOf(first);
    expect(habits).toMatchObject([{ rules: [{ method: 'crc', poly: 0x2f, suffixBytes: 1, frames: 3 }] }]);
    expect(first.map((each) => wantsAnotherLook(each, habits))).toEqual([false, false, false]);
    const few = findFieldsOfStream(frames('few', 0x104, crcWith(1), 300, FEW), {});
    expect(wantsAnotherLook(few, habits)).toBe(true);
    expect(wantsAnotherLook({ ...few, bus: 'another' }, habits)).toBe(false);
    const still = findFieldsOfStream(
      frames('still', 0x104, () => 9, 300, FEW),
      {},
    );
    expect(wantsAnotherLook(still, habits)).toBe(false);
  });
});
