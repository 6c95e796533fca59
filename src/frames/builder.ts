/**
 * Collects frames while a capture is read and makes the `FrameTable` at the end. Builder and table are
 * different types: this one appends to fixed blocks that never regrow, the table is contiguous, sorted
 * and never changed. A classical frame takes 8 (time) + 4 (arrival) + 8 (payload) + 1 (length) bytes.
 */
import type { ClockOrigin, Direction, ErrorFrames, FileReport, FrameTable, Stream, StreamKey } from './table.ts';
import { Slot } from './slot.ts';

/** Slots of one (bus, base or extended, direction): base identifiers by place, extended ones by map. */
class Lane {
  readonly base = new Array<Slot | undefined>(0x800).fill(undefined);
  readonly extended = new Map<number, Slot>();
}

export interface StreamSoFar {
  readonly key: StreamKey;
  readonly slot: Slot;
}

export interface TableEnds {
  /** Reports of the files, once the instant of the first frame is known. */
  readonly files: (firstUs: number) => readonly FileReport[];
  /** Makes the origin from the instant of the first frame, in microseconds since the builder's base. */
  readonly origin: (firstUs: number) => ClockOrigin;
}

export class FrameBuilder {
  private readonly buses: string[] = [];
  private readonly lanes: Lane[] = [];
  private readonly errorSlots: (Slot | undefined)[] = [];
  private readonly remoteCounts = new Map<string, StreamKey & { count: number }>();
  private arrivals = 0;
  private frames = 0;
  /** In order of appearance. */
  readonly streams: StreamSoFar[] = [];

  get frameCount(): number {
    return this.frames;
  }

  /** The rank that the next data or error frame will get. */
  get nextArrival(): number {
    return this.arrivals;
  }

  get busNames(): readonly string[] {
    return this.buses;
  }

  busIndex(name: string): number {
    const known = this.buses.indexOf(name);
    if (known >= 0) return known;
    this.buses.push(name);
    return this.buses.length - 1;
  }

  slot(bus: number, id: number, extended: boolean, sent: boolean): Slot {
    const laneIndex = bus * 2 + (sent ? 1 : 0);
    const lane = (this.lanes[laneIndex] ??= new Lane());
    const known = extended ? lane.extended.get(id) : lane.base[id];
    return known ?? this.addSlot(lane, { bus: this.buses[bus] as string, id, extended, direction: directionOf(sent) });
  }

  /** Adds a data frame; `payload[at..at + length)` is copied. */
  add(slot: Slot, timeUs: number, payload: Uint8Array, at: number, length: number, fdFlags: number): void {
    slot.append(timeUs, this.arrivals++, payload, at, length, fdFlags);
    this.frames++;
  }

  addRemote(bus: number, id: number, extended: boolean, sent: boolean): void {
    const name = `${bus}/${id}/${extended}/${sent}`;
    const known = this.remoteCounts.get(name);
    if (known) known.count++;
    else {
      const key = { bus: this.buses[bus] as string, id, extended, direction: directionOf(sent) };
      this.remoteCounts.set(name, { ...key, count: 1 });
    }
  }

  addError(bus: number, timeUs: number): void {
    const slot = (this.errorSlots[bus] ??= new Slot());
    slot.append(timeUs, this.arrivals++, NO_BYTES, 0, 0, 0);
  }

  /** All slots of a bus, error frames included: what a repair of the clock has to move. */
  slotsOfBus(bus: number): Slot[] {
    const name = this.buses[bus];
    const slots = this.streams.filter(({ key }) => key.bus === name).map(({ slot }) => slot);
    const errors = this.errorSlots[bus];
    return errors ? [...slots, errors] : slots;
  }

  /** Every slot; for a shift that concerns a whole file. */
  allSlots(): Slot[] {
    return [...this.streams.map(({ slot }) => slot), ...this.errorSlots.filter((slot) => slot !== undefined)];
  }

  finish(ends: TableEnds): FrameTable {
    const steps = this.finishSteps(ends);
    for (;;) {
      const step = steps.next();
      if (step.done) return step.value;
    }
  }

  /** The same in steps, so that a worker can let messages in between: yields the share done, 0..1. */
  *finishSteps(ends: TableEnds): Generator<number, FrameTable> {
    const firstUs = this.firstInstant();
    const entries = [...this.streams].sort((a, b) => compareKeys(a.key, b.key));
    const streams: Stream[] = [];
    for (const { key, slot } of entries) {
      streams.push(makeStream(key, slot, streams.length, firstUs));
      yield streams.length / (entries.length + 1);
    }
    const errors = this.makeErrors(firstUs);
    const lasts = [...streams, ...errors].map(({ timeUs, count }) => timeUs[count - 1] as number);
    return {
      streams,
      buses: this.busesInUse(),
      origin: ends.origin(firstUs),
      endUs: lasts.reduce((a, b) => Math.max(a, b), 0),
      frameCount: this.frames,
      remotes: [...this.remoteCounts.values()].sort(compareKeys),
      errors,
      files: ends.files(firstUs),
    };
  }

  /** Buses may be announced and then carry nothing. */
  private busesInUse(): string[] {
    const errors = this.errorSlots.flatMap((slot, bus) => (slot ? [this.buses[bus] as string] : []));
    const keyed = [...this.streams.map(({ key }) => key.bus), ...[...this.remoteCounts.values()].map(({ bus }) => bus)];
    return [...new Set([...keyed, ...errors])].sort(compareTexts);
  }

  private addSlot(lane: Lane, key: StreamKey): Slot {
    const slot = new Slot();
    if (key.extended) lane.extended.set(key.id, slot);
    else lane.base[key.id] = slot;
    this.streams.push({ key, slot });
    return slot;
  }

  private firstInstant(): number {
    const first = this.allSlots().reduce((least, slot) => Math.min(least, slot.earliest()), Infinity);
    return Number.isFinite(first) ? first : 0;
  }

  private makeErrors(firstUs: number): ErrorFrames[] {
    const errors: ErrorFrames[] = [];
    this.errorSlots.forEach((slot, bus) => {
      if (!slot) return;
      const { timeUs } = slot.columns(firstUs);
      errors.push({ bus: this.buses[bus] as string, count: slot.count, timeUs });
    });
    return errors.sort((a, b) => compareTexts(a.bus, b.bus));
  }
}

const NO_BYTES = new Uint8Array(0);
const directionOf = (sent: boolean): Direction => (sent ? 'sent' : 'received');
const compareTexts = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

/** By bus, base before extended, identifier, received before sent. */
export function compareKeys(a: StreamKey, b: StreamKey): number {
  return (
    compareTexts(a.bus, b.bus) ||
    Number(a.extended) - Number(b.extended) ||
    a.id - b.id ||
    Number(a.direction === 'sent') - Number(b.direction === 'sent')
  );
}

function makeStream(key: StreamKey, slot: Slot, index: number, firstUs: number): Stream {
  const { timeUs, arrival, payload, stride, lengths, fdFlags } = slot.columns(firstUs);
  const length = mostFrequent(lengths);
  const allSame = isConstant(lengths, length);
  return {
    ...key,
    index,
    count: slot.count,
    timeUs,
    arrival,
    stride,
    payload,
    length,
    lengths: allSame ? null : lengths,
    fdFlags,
  };
}

function isConstant(values: Uint8Array, value: number): boolean {
  for (let i = 0; i < values.length; i++) if (values[i] !== value) return false;
  return true;
}

function mostFrequent(lengths: Uint8Array): number {
  const counts = new Uint32Array(256);
  for (let i = 0; i < lengths.length; i++) counts[lengths[i] as number]!++;
  let best = 0;
  for (let length = 1; length < 256; length++) if ((counts[length] as number) > (counts[best] as number)) best = length;
  return best;
}
