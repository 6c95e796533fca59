/**
 * Which streams of a capture a map decodes, and in which order their frames come: the plan that the writers of decoded
 * values share. Only frames received are decoded: what the logger sent itself is not the vehicle's.
 */
import type { FrameTable, Stream } from '../frames/table.ts';
import { bad, good, type Outcome, type Problem } from '../kit/outcome.ts';
import { compileFrame, type CompiledFrame, type CompiledSignal } from '../map/decode.ts';
import { idNumber } from '../map/identifiers.ts';
import type { MapFrame, SignalMap } from '../map/schema.ts';

export interface PlannedStream {
  readonly stream: Stream;
  readonly compiled: CompiledFrame;
  /** Column of each of the frame's signals in the wide form. */
  readonly columns: readonly number[];
}

interface WideColumn {
  /** "inverter_status.motor_speed", with the bus before it where that is needed to tell two apart. */
  readonly name: string;
  readonly unit: string;
  /** Text for texts and named states, else numbers. */
  readonly type: 'number' | 'text';
  readonly signal: CompiledSignal;
}

export interface DecodePlan {
  readonly streams: readonly PlannedStream[];
  readonly columns: readonly WideColumn[];
  readonly warnings: readonly Problem[];
}

export interface BusChoice {
  /** Map bus name -> capture bus name, where they differ. */
  readonly busMap?: Readonly<Record<string, string>>;
}

/** The capture's name for a bus of the map: as told, the same name, or the only bus where there is only one. */
function captureBus(bus: string, map: SignalMap, table: FrameTable, choice: BusChoice): string | null {
  const told = choice.busMap?.[bus];
  if (told !== undefined) return told;
  if (table.buses.includes(bus)) return bus;
  const mapBuses = new Set(map.frames.map((frame) => frame.bus));
  return mapBuses.size === 1 && table.buses.length === 1 ? (table.buses[0] as string) : null;
}

function receivedStream(table: FrameTable, bus: string | null, frame: MapFrame): Stream | undefined {
  const id = idNumber(frame.id);
  return table.streams.find(
    (s) => s.bus === bus && s.id === id && s.extended === frame.extended && s.direction === 'received',
  );
}

const columnType = ({ signal }: CompiledSignal): WideColumn['type'] =>
  signal.coding === 'text' || Object.keys(signal.states).length > 0 ? 'text' : 'number';

function uniqueNames(frames: readonly MapFrame[]): (frame: MapFrame, signal: string) => string {
  const count = new Map<string, number>();
  for (const { name } of frames) count.set(name, (count.get(name) ?? 0) + 1);
  return (frame, signal) => {
    if (count.get(frame.name) === 1) return `${frame.name}.${signal}`;
    return `${frame.bus}/${frame.id}${frame.extended ? 'x' : ''}/${frame.name}.${signal}`;
  };
}

function missingFrame(frame: MapFrame, bus: string | null, table: FrameTable): Problem {
  return {
    code: bus === null ? 'bus-not-in-capture' : 'frame-not-in-capture',
    message: `${frame.name} (${frame.bus} ${frame.id}) does not occur in the capture.`,
    advice:
      bus === null
        ? `Say which of its buses (${table.buses.join(', ')}) is ${frame.bus}.`
        : 'Nothing to do if the vehicle was in another state.',
  };
}

/** Fails where no frame of the map occurs in the capture. */
export function planDecoding(table: FrameTable, map: SignalMap, choice: BusChoice): Outcome<DecodePlan> {
  const frames = map.frames.filter((frame) => frame.signals.length > 0);
  const nameOf = uniqueNames(frames);
  const streams: PlannedStream[] = [];
  const columns: WideColumn[] = [];
  const warnings: Problem[] = [];
  for (const frame of frames) {
    const bus = captureBus(frame.bus, map, table, choice);
    const stream = receivedStream(table, bus, frame);
    if (!stream) {
      warnings.push(missingFrame(frame, bus, table));
      continue;
    }
    const compiled = compileFrame(frame);
    const first = columns.length;
    for (const signal of compiled.signals) {
      const { name, unit } = signal.signal;
      columns.push({ name: nameOf(frame, name), unit, type: columnType(signal), signal });
    }
    streams.push({ stream, compiled, columns: compiled.signals.map((_, i) => first + i) });
  }
  if (streams.length > 0) return good({ streams, columns, warnings }, warnings);
  return bad(
    {
      code: 'nothing-to-decode',
      message: frames.length === 0 ? 'the map names no signals.' : 'no frame of the map occurs in the capture.',
      advice: frames.length === 0 ? 'Name signals first.' : 'Check that map and capture are of the same part and bus.',
    },
    ...warnings,
  );
}

/** The frames of several streams in order of time, equal stamps in order of arrival: a heap of one cursor a stream. */
export class MergedFrames {
  readonly #streams: readonly Stream[];
  readonly #rows: Uint32Array;
  readonly #heap: number[] = [];

  constructor(streams: readonly Stream[]) {
    this.#streams = streams;
    this.#rows = new Uint32Array(streams.length);
    streams.forEach((stream, index) => stream.count > 0 && this.#push(index));
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
      if (row + 1 >= (this.#streams[index] as Stream).count) this.#removeTop();
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
