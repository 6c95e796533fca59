/** Counters that hold each value for some frames: those of modules that start again, and of captures in which they come round once. */
import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream } from './support/streams.ts';

const EVERY = 10;

/** A level in bytes 0 and 1, a counter from 0 to 14 in the high half of byte 2 and their sum in byte 3; the module starts again at some rows, at the last of them `long` frames late. */
function streamOf(count: number, starts: readonly number[], first: number, long = 0): ReturnType<typeof makeStream> {
  const random = createRandom('held');
  const payload = new Uint8Array(count * 4);
  let level = 900;
  let at = first * EVERY;
  for (let row = 0; row < count; row++, at++) {
    if (starts.includes(row)) at = row === starts.at(-1) ? -long : 0;
    level += random.below(40) - 20;
    const message = [level >> 8, level & 0xff, (Math.floor(Math.max(0, at) / EVERY) % 15) << 4];
    payload.set([...message, message.reduce((sum, byte) => (sum + byte) & 0xff, 0)], row * 4);
  }
  return makeStream(payload, 4);
}

const counters = (stream: ReturnType<typeof makeStream>) =>
  findFieldsOfStream(stream, {}).counters.map(({ lsb, length, step, every, min, max }) => ({
    ...{ at: [lsb.byte, lsb.bit, length] },
    ...{ step, every, min, max },
  }));

describe('a counter that holds each value for ten frames', () => {
  const told = [{ at: [2, 4, 4], step: 1, every: EVERY, min: 0, max: 14 }];

  it('is told where the module starts again, and once stays at zero for twice as long', () => {
    expect(counters(streamOf(560, [83, 410], 6, 9))).toEqual(told);
  });

  it('is told beside its sum where it came round once', () => {
    expect(counters(streamOf(190, [], 6))).toEqual(told);
  });

  it('is not told where it did not come round', () => {
    expect(counters(streamOf(130, [], 1))).toEqual([]);
  });
});

describe('seconds since a module woke', () => {
  it('are no counter where it wakes a few times, as they go back from anywhere', () => {
    const random = createRandom('awake');
    const starts = [40, 215, 355];
    const payload = new Uint8Array(460 * 5);
    let since = 60;
    for (let row = 0; row < 460; row++, since++) {
      if (starts.includes(row)) since = 0;
      payload.set([random.below(200), (since / 5) | 0, 0, random.below(3), 0xff], row * 5);
    }
    expect(counters(makeStream(payload, 5))).toEqual([]);
  });
});
