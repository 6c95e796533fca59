/** The frames of several streams as one row of frames in order of time, within a window of time. */
import { lowerBound, upperBound } from '../frames/pictures/columns.ts';
import type { Stream } from '../frames/table.ts';

/** Microseconds since the capture's origin, both included. */
export interface TimeWindow {
  readonly fromUs: number;
  readonly toUs: number;
}

const ALWAYS: TimeWindow = { fromUs: -Infinity, toUs: Infinity };

/** The frames of several streams in order of time, equal stamps in order of arrival: a heap of one cursor a stream. */
export class MergedFrames {
  readonly #streams: readonly Stream[];
  readonly #rows: Uint32Array;
  /** [streams] the first row that is not visited any more. */
  readonly #ends: Uint32Array;
  readonly #heap: number[] = [];

  /** Frames from `fromUs` to `toUs`, both included. */
  constructor(streams: readonly Stream[], { fromUs, toUs }: TimeWindow = ALWAYS) {
    this.#streams = streams;
    this.#rows = Uint32Array.from(streams, ({ timeUs, count }) => lowerBound(timeUs, fromUs, 0, count));
    this.#ends = Uint32Array.from(streams, ({ timeUs, count }) => upperBound(timeUs, toUs, 0, count));
    streams.forEach((_, index) => (this.#rows[index] as number) < (this.#ends[index] as number) && this.#push(index));
  }

  /** Frames that are left to visit. */
  get left(): number {
    return this.#ends.reduce((sum, end, index) => sum + Math.max(0, end - (this.#rows[index] as number)), 0);
  }

  /** Visits each frame once; `visit` gets the stream's index and the row. Stops after `limit` frames. @returns frames visited. */
  take(limit: number, visit: (stream: number, row: number) => void): number {
    let taken = 0;
    while (taken < limit && this.#heap.length > 0) {
      const index = this.#heap[0] as number;
      const row = this.#rows[index] as number;
      visit(index, row);
      taken++;
      this.#rows[index] = row + 1;
      if (row + 1 >= (this.#ends[index] as number)) this.#removeTop();
      this.#sink();
    }
    return taken;
  }

  #before(a: number, b: number): boolean {
    const [x, y] = [this.#streams[a] as Stream, this.#streams[b] as Stream];
    const [i, j] = [this.#rows[a] as number, this.#rows[b] as number];
    const difference = (x.timeUs[i] as number) - (y.timeUs[j] as number);
    return difference !== 0 ? difference < 0 : (x.arrival[i] as number) < (y.arrival[j] as number);
  }

  #removeTop(): void {
    const last = this.#heap.pop() as number;
    if (this.#heap.length > 0) this.#heap[0] = last;
  }

  #push(index: number): void {
    let at = this.#heap.push(index) - 1;
    while (at > 0) {
      const parent = (at - 1) >> 1;
      if (!this.#before(index, this.#heap[parent] as number)) break;
      this.#heap[at] = this.#heap[parent] as number;
      at = parent;
    }
    this.#heap[at] = index;
  }

  #sink(): void {
    const heap = this.#heap;
    if (heap.length === 0) return;
    const index = heap[0] as number;
    let at = 0;
    for (;;) {
      let child = 2 * at + 1;
      if (child >= heap.length) break;
      if (child + 1 < heap.length && this.#before(heap[child + 1] as number, heap[child] as number)) child++;
      if (!this.#before(heap[child] as number, index)) break;
      heap[at] = heap[child] as number;
      at = child;
    }
    heap[at] = index;
  }
}
