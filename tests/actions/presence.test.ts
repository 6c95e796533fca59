/** Who begins to send and falls silent, and what is only the recorder's gap. */
import { expect, it } from 'vitest';
import { presences } from '../../src/actions/presence.ts';
import type { FrameTable } from '../../src/frames/table.ts';
import { series, worldOf } from './scenario.ts';

const SECONDS = 100;
const PERIODS_S = [0.01, 0.05, 0.4, 0.02];

/** Four frames; `isSent` says which stamps are there. */
function tableOf(isSent: (stream: number, atS: number) => boolean): FrameTable {
  const values = series(SECONDS, () => 1);
  const { table } = worldOf(
    PERIODS_S.map((periodS, k) => ({ name: `f${k}`, values, periodS })),
    SECONDS,
    1,
  );
  const streams = table.streams.map((stream, k) => {
    const timeUs = stream.timeUs.filter((us) => isSent(k, us / 1e6));
    return { ...stream, timeUs, count: timeUs.length, payload: new Uint8Array(2 * timeUs.length) };
  });
  return { ...table, streams };
}

const senderOf = ({ id }: { readonly id: string }): string => (id === '0x103' ? 'B' : 'A');
const isOff = (atS: number): boolean => atS > 30 && atS < 50;

it('frames of one sender wake and sleep as one, slow ones too; another that goes on is not told of', () => {
  const found = presences(
    tableOf((stream, atS) => stream === 3 || !isOff(atS)),
    senderOf,
  );
  expect(found).toHaveLength(1);
  expect(found[0]?.frames.map(({ id }) => id)).toEqual(['0x100', '0x101', '0x102']);
  const [silent, begins] = found[0]?.changes ?? [];
  expect(silent).toMatchObject({ isSending: false });
  expect(Math.abs((silent?.atS ?? 0) - 30)).toBeLessThan(0.02);
  expect(Math.abs((begins?.atS ?? 0) - 50)).toBeLessThan(0.02);
  // Who was seen first is the quickest of them.
  expect(found[0]?.which).toEqual([0, 0]);
});

it("a second that the recorder missed is nobody's silence, a vehicle that sleeps is everybody's", () => {
  const missed = presences(
    tableOf((_, atS) => atS < 60 || atS > 61),
    senderOf,
  );
  expect(missed).toEqual([]);
  const asleep = presences(
    tableOf((_, atS) => !isOff(atS)),
    senderOf,
  );
  expect(asleep.map(({ frames }) => frames.length)).toEqual([3, 1]);
});
