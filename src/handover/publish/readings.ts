/** All tapes of a capture: each stream by itself, over its pages, over identifiers in a row, and messages. */
import { bitsIn, leftBy } from '../../fields/mask.ts';
import type { Placement } from '../../frames/bits.ts';
import type { FrameTable, Stream, StreamKey } from '../../frames/table.ts';
import { checkpoint, type Control } from '../../kit/control.ts';
import { idNumber } from '../../map/identifiers.ts';
import type { MapFrame, SignalMap } from '../../map/schema.ts';
import { wholeCell, type Cell } from './cells.ts';
import { messagesOf, type Message } from './messages.ts';
import { overPages } from './over-pages.ts';
import { pageRuns } from './page-runs.ts';
import { allOrders, bothOrders, readBy, refsOf, type Reading } from './tapes.ts';

const RANGES_MOST = 64;

export interface Readings {
  readonly readings: readonly Reading[];
  readonly messages: readonly Message[];
}

/** Whether a frame of the map is that of a stream or rule, whatever zeros its identifier was written with. */
export function sameFrame(frame: MapFrame, { bus, id, extended }: Omit<StreamKey, 'direction'>): boolean {
  return frame.bus === bus && frame.extended === extended && idNumber(frame.id) === id;
}

export const frameOfStream = (map: SignalMap | null, stream: Stream): MapFrame | null =>
  map?.frames.find((frame) => sameFrame(frame, stream)) ?? null;

/** [bytes] bits that no guard and no selector of the map holds. */
function freeBits({ stride }: Stream, frame: MapFrame | null): Uint8Array {
  const held = frame ? [...frame.counters, ...frame.checksums, ...frame.selectors] : [];
  return leftBy(new Uint8Array(stride).fill(255), held as Placement[]);
}

const STILL_BITS_LEAST = 16;

function ofStream(stream: Stream, cell: Cell, frame: MapFrame | null): Reading[] {
  const free = freeBits(stream, frame);
  const plain =
    bitsIn(cell.still) >= STILL_BITS_LEAST
      ? readBy(allOrders('frame', refsOf(cell, free, 0, stream.stride)), true)
      : [];
  const paged = pageRuns(stream, frame).flatMap((run) => overPages(run, free));
  return [...plain, ...paged];
}

const STEPS = [1, 2, 3, 4, 8, 0x10, 0x20, 0x100, 0x10000];
const CHAIN_MOST = 16;

/** Streams of one bus and direction whose identifiers follow each other at one step. */
function chainsOf(cells: readonly Cell[]): Cell[][] {
  const at = (cell: Cell, step: number): string => {
    const { bus, id, extended, direction } = cell.stream;
    return `${bus} ${extended} ${direction} ${id + step}`;
  };
  const byKey = new Map(cells.map((cell) => [at(cell, 0), cell]));
  return STEPS.flatMap((step) =>
    cells
      .filter((cell) => !byKey.has(at(cell, -step)))
      .map((cell) => {
        const chain = [cell];
        for (let next = byKey.get(at(cell, step)); next && chain.length < CHAIN_MOST; next = byKey.get(at(next, step)))
          chain.push(next);
        return chain;
      })
      .filter((chain) => chain.length > 1),
  );
}

function overIdentifiers(chain: readonly Cell[], map: SignalMap | null): Reading[] {
  const free = chain.map(({ stream }) => freeBits(stream, frameOfStream(map, stream)));
  const bytes = Math.max(...free.map(({ length }) => length));
  const common = Array.from({ length: bytes }, (_, byte) => byte).filter((byte) => {
    const holding = chain.filter(
      (cell, index) => free[index]?.[byte] === 255 && (cell.still[byte] === 255 || (cell.loose[byte] as number) >= 0),
    );
    return holding.length > 1;
  });
  const ranges = common.flatMap((from) => common.filter((to) => to >= from).map((to) => [from, to + 1] as const));
  return ranges.slice(0, RANGES_MOST).flatMap(([from, to]) => {
    const refs = chain.flatMap((cell, index) => {
      const own = free[index] as Uint8Array;
      return refsOf(cell, own, from, Math.min(to, own.length));
    });
    const isAll = from === common[0] && to === (common.at(-1) as number) + 1;
    return readBy(allOrders('identifiers', refs), isAll, isAll);
  });
}

/** Lays all tapes. Linear in frames for each place that may number pages. */
export async function layReadings(table: FrameTable, map: SignalMap | null, control: Control): Promise<Readings> {
  const readings: Reading[] = [];
  const cells: Cell[] = [];
  for (const [index, stream] of table.streams.entries()) {
    await checkpoint(control, (0.9 * index) / table.streams.length, 'looking for numbers');
    const cell = wholeCell(stream);
    if (bitsIn(cell.still) >= STILL_BITS_LEAST) cells.push(cell);
    readings.push(...ofStream(stream, cell, frameOfStream(map, stream)));
  }
  readings.push(...chainsOf(cells).flatMap((chain) => overIdentifiers(chain, map)));
  // Decimals in answers to no question for identity are readings.
  const messages = messagesOf(table);
  for (const { refs, begins } of messages)
    readings.push(...readBy(bothOrders(begins ? 'message' : 'fragment', refs), refs.length <= 64, false));
  await checkpoint(control, 1, 'looking for numbers');
  return { readings, messages };
}
