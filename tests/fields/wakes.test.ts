/** Modules that say "no data" each time the bus wakes (common practice, no source): such rows are no moves of their values. */
import { describe, expect, it } from 'vitest';
import type { Placement } from '../../src/frames/bits.ts';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { movedMask, rowsOfStream } from '../../src/fields/payload-rows.ts';
import { withoutFillings, wakesOf } from '../../src/fields/wakes.ts';
import type { Stream } from '../../src/frames/table.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk, placeKey, writeColumn } from './support/streams.ts';

const BYTES = 5;
const AWAKE = 900;
const FILLED = 20;
const WAKES = 6;
const COUNT = AWAKE * WAKES;
const PLACES: readonly Placement[] = [
  { lsb: { byte: 0, bit: 0 }, length: 12, order: 'little' },
  { lsb: { byte: 1, bit: 4 }, length: 12, order: 'little' },
  { lsb: { byte: 4, bit: 0 }, length: 16, order: 'big' },
];

/** Awake for nine seconds, silent for four, `WAKES` times; the first `filled` rows of each but the first are all ones. */
function sleeper(seed: string, filled: number): Stream {
  const payload = new Uint8Array(COUNT * BYTES);
  for (const [index, place] of PLACES.entries()) {
    const walk = physicalWalk(createRandom(`${seed} ${index}`), COUNT, 30, 2 ** place.length - 300);
    writeColumn(payload, BYTES, place, walk);
  }
  for (let wake = 1; wake < WAKES; wake++) payload.fill(0xff, wake * AWAKE * BYTES, (wake * AWAKE + filled) * BYTES);
  const stream = makeStream(payload, BYTES);
  return { ...stream, timeUs: stream.timeUs.map((time, row) => time + Math.floor(row / AWAKE) * 4_000_000) };
}

const starts = [1, 2, 3, 4, 5].map((wake) => wake * AWAKE);

describe('rows behind a pause', () => {
  it('are found by the times, and not where an identifier is only late once', () => {
    const stream = sleeper('wakes', FILLED);
    expect(wakesOf(stream)).toEqual(starts);
    expect(wakesOf(makeStream(new Uint8Array(4000), 4))).toEqual([]);
    const late = makeStream(new Uint8Array(4000), 4, 0x123, 100_000);
    expect(wakesOf({ ...late, timeUs: late.timeUs.map((time, row) => time + (row > 500 ? 400_000 : 0)) })).toEqual([]);
  });

  it('are left out where they hold all ones but for the first, and each row behind them follows on nothing', () => {
    const stream = sleeper('left out', FILLED);
    const rows = rowsOfStream(stream);
    const kept = withoutFillings(rows, wakesOf(stream), movedMask(rows));
    expect(kept.count).toBe(COUNT - FILLED * (WAKES - 2));
    expect(Array.from(kept.joined.keys()).filter((row) => kept.joined[row] === 0)).toEqual([
      0,
      ...[0, 1, 2, 3, 4].map((wake) => FILLED + AWAKE + wake * (AWAKE - FILLED)),
    ]);
    expect(kept.data.subarray(0, FILLED * BYTES).every((byte) => byte === 0xff)).toBe(true);
    expect(kept.data.subarray(FILLED * BYTES).includes(0)).toBe(true);
  });

  it('stay where values go on at once', () => {
    const stream = sleeper('no filling', 0);
    const rows = rowsOfStream(stream);
    expect(withoutFillings(rows, wakesOf(stream), movedMask(rows))).toBe(rows);
  });

  it.each(['one', 'two', 'three'])('do not join values nor give them a sign (%s)', (seed) => {
    const { fields } = findFieldsOfStream(sleeper(seed, FILLED), {});
    expect(fields.map((field) => placeKey(field as Placement)).sort()).toEqual(PLACES.map(placeKey).sort());
    expect(fields.map(({ coding }) => coding)).toEqual(['unsigned', 'unsigned', 'unsigned']);
    for (const { observed, length } of fields) expect(observed?.max).toBeLessThan(2 ** length - 1);
  });
});
