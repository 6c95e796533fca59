/** All frames of one bus in the order in which they were sent: its streams brought together, for what lies between identifiers. */
import type { Steps } from '../frames/pictures/steps.ts';
import type { FrameTable, Stream } from '../frames/table.ts';

export interface BusFrames {
  /** [n] microseconds, ascending. */
  readonly timeUs: Float64Array;
  /** [n] index of the stream in the table, and row in it. */
  readonly stream: Int16Array;
  readonly row: Uint32Array;
  /** The bus's streams. */
  readonly streams: readonly Stream[];
}

const ROWS_A_STEP = 100_000;

/** Earlier stamp first; of equal stamps, the one that the file wrote first. */
function isBefore(a: Stream, i: number, b: Stream, j: number): boolean {
  const apart = (a.timeUs[i] as number) - (b.timeUs[j] as number);
  return apart < 0 || (apart === 0 && (a.arrival[i] as number) < (b.arrival[j] as number));
}

/** O(n log streams), by a heap of the streams' next frames. */
function* mergeBus(streams: readonly Stream[]): Steps<BusFrames> {
  const n = streams.reduce((sum, { count }) => sum + count, 0);
  const [timeUs, stream, row] = [new Float64Array(n), new Int16Array(n), new Uint32Array(n)];
  const next = new Uint32Array(streams.length);
  const heap = streams.map((_, place) => place).filter((place) => (streams[place] as Stream).count > 0);
  const before = (a: number, b: number): boolean =>
    isBefore(streams[a] as Stream, next[a] as number, streams[b] as Stream, next[b] as number);
  const sink = (from: number): void => {
    for (let at = from; ;) {
      let least = at;
      for (const child of [2 * at + 1, 2 * at + 2]) {
        if (child < heap.length && before(heap[child] as number, heap[least] as number)) least = child;
      }
      if (least === at) return;
      [heap[at], heap[least]] = [heap[least] as number, heap[at] as number];
      at = least;
    }
  };
  for (let at = heap.length >> 1; at >= 0; at--) sink(at);
  for (let i = 0; i < n; i++) {
    const place = heap[0] as number;
    const own = streams[place] as Stream;
    const head = next[place] as number;
    timeUs[i] = own.timeUs[head] as number;
    stream[i] = own.index;
    row[i] = head;
    next[place] = head + 1;
    if (head + 1 === own.count) {
      const last = heap.pop() as number;
      if (heap.length > 0) heap[0] = last;
    }
    sink(0);
    if (i % ROWS_A_STEP === ROWS_A_STEP - 1) yield;
  }
  return { timeUs, stream, row, streams };
}

/** Lowest and highest place in the files of the frames of some streams. */
function* rankRange(streams: readonly Stream[]): Steps<{ least: number; most: number }> {
  let [least, most] = [Infinity, -Infinity];
  for (const { arrival } of streams) {
    for (let i = 0; i < arrival.length; i++) {
      const rank = arrival[i] as number;
      if (rank < least) least = rank;
      if (rank > most) most = rank;
    }
    yield;
  }
  return { least, most };
}

/** By the order of the files, which is the order of time as a rule; null where it is not. O(frames between the bus's first and last) */
function* inFileOrder(streams: readonly Stream[]): Steps<BusFrames | null> {
  const { least, most } = yield* rankRange(streams);
  const size = Math.max(0, most - least + 1);
  const [placeAt, rowAt] = [new Int16Array(size).fill(-1), new Uint32Array(size)];
  yield;
  for (const [place, { arrival }] of streams.entries()) {
    for (let i = 0; i < arrival.length; i++) {
      const rank = (arrival[i] as number) - least;
      placeAt[rank] = place;
      rowAt[rank] = i;
    }
    yield;
  }
  const n = streams.reduce((sum, { count }) => sum + count, 0);
  const [timeUs, stream, row] = [new Float64Array(n), new Int16Array(n), new Uint32Array(n)];
  let [kept, last] = [0, -Infinity];
  for (let rank = 0; rank < size; rank++) {
    const place = placeAt[rank] as number;
    if (place < 0) continue;
    const { timeUs: times, index } = streams[place] as Stream;
    const us = times[rowAt[rank] as number] as number;
    if (us < last || kept === n) return null;
    timeUs[kept] = last = us;
    stream[kept] = index;
    row[kept++] = rowAt[rank] as number;
    if (rank % ROWS_A_STEP === ROWS_A_STEP - 1) yield;
  }
  return kept === n ? { timeUs, stream, row, streams } : null;
}

/** In the order of the table's buses. */
export function* busFrames(table: FrameTable): Steps<BusFrames[]> {
  const merged: BusFrames[] = [];
  for (const bus of table.buses) {
    const streams = table.streams.filter((stream) => stream.bus === bus);
    merged.push((yield* inFileOrder(streams)) ?? (yield* mergeBus(streams)));
  }
  return merged;
}
