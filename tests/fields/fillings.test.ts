/** Modules that say zeros, ones or another code until they know better, each time the bus wakes (common practice, no source). */
import { describe, expect, it } from 'vitest';
import { asFilled, leavingFilled } from '../../src/fields/filled-cost.ts';
import { withoutFilledRows } from '../../src/fields/fillings.ts';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { movedMask, rowsOfStream } from '../../src/fields/payload-rows.ts';
import { wakesOf } from '../../src/fields/wakes.ts';
import type { Placement } from '../../src/frames/bits.ts';
import type { Stream } from '../../src/frames/table.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk, placeKey, writeColumn } from './support/streams.ts';

const BYTES = 8;
const AWAKE = 400;
const WAKES = 5;
const COUNT = AWAKE * WAKES;
const isFilling = (row: number, rows: number): boolean => row % AWAKE < rows;

interface Column {
  readonly place: Placement;
  /** What it says behind each pause, and for how many rows. */
  readonly filled: number;
  readonly rows: number;
  readonly values: ArrayLike<number>;
}

/** Awake for four seconds, silent for four, `WAKES` times. */
function sleeper(columns: readonly Column[]): Stream {
  const payload = new Uint8Array(COUNT * BYTES);
  for (const { place, filled, rows, values } of columns)
    writeColumn(
      payload,
      BYTES,
      place,
      Array.from(values, (value, row) => (isFilling(row, rows) ? filled : value)),
    );
  const stream = makeStream(payload, BYTES);
  return { ...stream, timeUs: stream.timeUs.map((time, row) => time + Math.floor(row / AWAKE) * 4_000_000) };
}

const place = (byte: number, bit: number, length: number): Placement => ({
  lsb: { byte, bit },
  length,
  order: 'little',
});
const constant = (value: number): number[] => new Array<number>(COUNT).fill(value);
const walk = (seed: string, low: number, high: number): Float64Array =>
  physicalWalk(createRandom(`fillings ${seed}`), COUNT, low, high);

function seenIn(stream: Stream) {
  const rows = rowsOfStream(stream);
  const usable = new Uint8Array(BYTES).fill(0xff);
  return { rows, without: withoutFilledRows(rows, wakesOf(stream), movedMask(rows), usable) };
}

const found = (stream: Stream): string[] =>
  findFieldsOfStream(stream, {})
    .fields.map((field) => placeKey(field as Placement))
    .sort();

describe('bits that only fillings move', () => {
  const values: readonly Column[] = [
    { place: place(0, 0, 12), filled: 0, rows: 20, values: walk('low', 0xd00, 0xdff) },
    { place: place(2, 0, 8), filled: 0, rows: 30, values: constant(0xff) },
  ];

  it('are told from those that move by themselves, and rows with a filling are left out', () => {
    const { rows, without } = seenIn(sleeper(values));
    expect(without?.rows.count).toBe(rows.count - 30 * WAKES);
    expect(without?.filled.mask.slice(1, 3)).toEqual(Uint8Array.of(0x0d, 0xff));
    expect(without?.filled.leaving).toHaveLength(WAKES);
    expect(without?.filled.leaving[3]?.[16]).toBe(30);
  });

  it('are none where a single beginning, or nothing but a switch, shows them', () => {
    const once = { ...values[0]!, values: walk('low', 0xd00, 0xdff) };
    const stream = sleeper([once]);
    expect(withoutFilledRows(rowsOfStream(stream), [], movedMask(rowsOfStream(stream)), new Uint8Array(8))).toBeNull();
    const flag = { place: place(4, 0, 1), filled: 0, rows: 20, values: constant(1) };
    expect(seenIn(sleeper([{ ...values[0]!, rows: 0 }, flag])).without).toBeNull();
  });

  it('say whether whole frames are filled by the bits that stay still', () => {
    expect(seenIn(sleeper(values)).without?.filled.isWhole).toBe(true);
    const still = { place: place(7, 0, 8), filled: 1, rows: 1, values: constant(1) };
    const partly = seenIn(sleeper([...values, still])).without!.filled;
    expect(partly.isWhole).toBe(false);
    const [dear, cheap] = [partly, { ...partly, isWhole: true }].map((filled) => leavingFilled(filled, 99));
    expect(dear![16]).toBeGreaterThan(cheap![16]!);
    expect([dear![0], cheap![0]]).toEqual([99, 99]);
  });

  it('make a span dear whose bits left fillings apart, and no other', () => {
    const { filled } = seenIn(sleeper(values)).without!;
    const cost = { bits: 500, model: 'number', pairs: 900, moves: 300, isFilled: false } as const;
    const bitsOf = (at: number, length: number): number => asFilled(cost, filled, at, length, 'little').bits;
    expect(bitsOf(0, 12)).toBe(500);
    expect(bitsOf(0, 24)).toBeGreaterThan(515);
    expect(asFilled(cost, filled, 0, 12, 'little').isFilled).toBe(true);
    expect(asFilled(cost, filled, 0, 8, 'little')).toBe(cost);
  });

  it.each(['one', 'two', 'three', 'four'])('belong to the value that leaves zeros when they do (%s)', (seed) => {
    const columns: readonly Column[] = [
      { place: place(0, 0, 12), filled: 0, rows: 12, values: walk(`${seed} a`, 0xd10, 0xdf0) },
      { place: place(1, 4, 12), filled: 0, rows: 30, values: walk(`${seed} b`, 0xb10, 0xbf0) },
      { place: place(3, 0, 16), filled: 0, rows: 20, values: walk(`${seed} c`, 0xf700, 0xf7f0) },
      { place: place(7, 0, 1), filled: 0, rows: 0, values: constant(1) },
    ];
    expect(found(sleeper(columns))).toEqual(
      columns
        .slice(0, 3)
        .map((column) => placeKey(column.place))
        .sort(),
    );
  });
});

describe('a code for "no data"', () => {
  it.each([
    ['lowest', 0x8000],
    ['greatest', 0x7fff],
  ])('that is the %s signed number, said at first and now and then, cuts no value at its sign', (_, code) => {
    const values = walk('signed', -900, 900).map((value, row) =>
      isFilling(row, 25) || (row > 1000 && row % 613 < 9) ? code : value,
    );
    const payload = new Uint8Array(COUNT * BYTES);
    writeColumn(payload, BYTES, place(2, 0, 16), values);
    expect(found(makeStream(payload, BYTES))).toEqual([placeKey(place(2, 0, 16))]);
  });
});
