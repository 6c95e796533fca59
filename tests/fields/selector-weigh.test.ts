/** What a would-be selector is worth over windows: what its own turns cost to write down is taken off. */
import { describe, expect, it } from 'vitest';
import { rowsOfStream } from '../../src/fields/payload-rows.ts';
import { turnsOf } from '../../src/fields/page-turns.ts';
import { judgeByWindows, readSmall, type Trial } from '../../src/fields/selector-weigh.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream } from './support/streams.ts';

const COUNT = 4000;
const BYTES = 6;
const PIECE = { lsb: { byte: 0, bit: 0 }, length: 6, order: 'little' } as const;
const VALUES = 40;

/** Values from `first` on in turn, each for `held(k)` rows; two bytes apart lean a little on them (`leaning`), or not. */
function judged(
  held: (turn: number) => number,
  leaning: number,
  values = VALUES,
  first = 0,
): ReturnType<typeof judgeByWindows> {
  const random = createRandom('windows');
  const own = Array.from({ length: values }, () => random.normal() * leaning);
  const payload = new Uint8Array(COUNT * BYTES);
  let [turn, left] = [0, held(0)];
  for (let row = 0; row < COUNT; row++, left--) {
    if (left === 0) left = held(++turn);
    const value = turn % values;
    payload[row * BYTES] = first + value;
    for (const byte of [2, 4])
      payload[row * BYTES + byte] = 128 + Math.round((own[value] as number) + 6 * random.normal());
  }
  const rows = rowsOfStream(makeStream(payload, BYTES));
  const pages = readSmall(rows, PIECE);
  const turns = turnsOf(pages);
  if (!turns) throw new Error('the values take no turns');
  const trial: Trial = {
    rows,
    open: new Uint8Array(BYTES).fill(255),
    counters: [],
    plain: new Float64Array(BYTES).fill(20_000),
    all: 60_000,
    unlistedShare: 0.2,
    within: false,
    isGuarded: true,
  };
  return judgeByWindows(
    { ...trial, plain: trial.plain.map((bits, byte) => (byte === 0 ? 0 : bits)) },
    { piece: PIECE, pages, turns, fewer: 0 },
  );
}

describe('a would-be selector over windows', () => {
  it('is one where cells lean on it', () => {
    expect(judged(() => 1, 20)?.values).toHaveLength(VALUES);
  });

  it('may have few values where it stands first in the payload', () => {
    expect(judged(() => 1, 20, 4, 1)?.values).toEqual([1, 2, 3, 4]);
  });

  it('is none where it runs as a counter does and nothing else counts', () => {
    expect(judged(() => 1, 20, 4)).toBeNull();
  });

  it('is none where when it goes on, as with the top bits of a clock, costs more to write down than the windows save', () => {
    const random = createRandom('held');
    expect(judged(() => (random.next() < 0.9 ? 4 : 5), 10)).toBeNull();
  });
});
