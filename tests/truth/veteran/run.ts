/** One drive of a vehicle as streams: when each frame was sent, and its bytes. */
import type { Random } from '../../../src/kit/random.ts';
import { FD_FORMAT, type Stream } from '../../../src/frames/table.ts';
import { chance } from './draw.ts';
import type { Forwarding, Module, Vehicle } from './draw-vehicle.ts';
import { writerOf } from './board.ts';
import { fillerBytes } from './fill.ts';
import type { FrameLayout } from './layout.ts';
import { sentIn, wakesOf, type Sent } from './times.ts';
import type { Trip } from './trip.ts';

/** What nothing takes, by page. */
function basesOf({ length, filler, slots, pager, counters, checks, ciphers }: FrameLayout): Uint8Array[] {
  const always = [...checks.map(({ known }) => known.place), ...ciphers];
  return (pager?.pages ?? [{ index: 0, writes: [] }]).map(({ index, writes }) => {
    const own = [...slots, ...counters].filter(({ pages }) => !pages || pages.has(index));
    const places = own.map((each) => ('known' in each ? each.known.place : each.place));
    return fillerBytes(length, filler, [...always, ...places, ...writes.map(({ place }) => place)]);
  });
}

interface Running {
  readonly layout: FrameLayout;
  readonly module: Module;
  readonly trip: Trip;
  readonly sent: readonly Sent[];
  readonly random: Random;
}

/** [sent.length * length] the bytes of all frames. */
function payloadOf({ layout, module, trip, sent, random }: Running): Uint8Array {
  const { length, slots, pager, counters, checks, ciphers } = layout;
  const sources = slots.map(({ recipe }, at) => recipe.open(trip, random.fork(`slot ${at}`)));
  const bases = basesOf(layout);
  const counts = counters.map(({ known }) => random.below(known.max + 1) * known.every);
  const counterWriters = counters.map(({ known }) => writerOf(known.place));
  const selectorWriters = pager?.pages.map(({ writes }) =>
    writes.map(({ place, value }) => [writerOf(place), value] as const),
  );
  const payload = new Uint8Array(sent.length * length);
  let [turn, fresh, wake, fillS] = [random.below(pager?.turn.length ?? 1), random.below(2 ** 24), -1, 0];
  sent.forEach((frame, row) => {
    if (frame.wake !== wake) {
      fillS = random.between(...module.fillS);
      counters.forEach(({ restarts }, at) => {
        if (restarts && wake >= 0) counts[at] = 0;
      });
      wake = frame.wake;
    }
    const page = pager ? pager.turn[turn++ % pager.turn.length]! : 0;
    const bytes = payload.subarray(row * length, (row + 1) * length);
    bytes.set(bases[page]!);
    const moment = {
      row: trip.columns.rowAt(frame.timeS),
      timeS: frame.timeS,
      awakeS: frame.awakeS,
    };
    slots.forEach((slot, at) => {
      if (slot.pages && !slot.pages.has(page)) return;
      const { filled, fillShare } = slot.recipe;
      const raw = sources[at]!(moment);
      slot.write(bytes, filled !== null && frame.awakeS < fillS * fillShare ? filled : raw);
    });
    selectorWriters?.[page]!.forEach(([write, value]) => write(bytes, value));
    const values = counters.map(({ known: { step, every, max }, pages }, at) => {
      if (pages && !pages.has(page)) return 0;
      const size = max + 1;
      const value = (((Math.floor(counts[at]! / every) * step) % size) + size) % size;
      counts[at]!++;
      counterWriters[at]!(bytes, value);
      return value;
    });
    for (const check of checks) check.apply(bytes, values[check.counter] ?? 0, fresh);
    for (const place of ciphers) for (let at = 0; at < place.length / 8; at++) bytes[at] = random.below(256);
    fresh++;
  });
  return payload;
}

type Unranked = Omit<Stream, 'arrival' | 'index'>;

function streamOf(
  module: Module,
  layout: FrameLayout,
  trip: Trip,
  { lost, stampUs }: Vehicle,
  random: Random,
): Unranked {
  const sent = sentIn(layout, wakesOf(module, trip), trip, random.fork('times'));
  const payload = payloadOf({ layout, module, trip, sent, random: random.fork('payload') });
  const { id, isExtended, isFd, length } = layout;
  const kept = sent.map((_, row) => row).filter(() => !chance(random, lost));
  const own = new Uint8Array(kept.length * length);
  kept.forEach((from, to) => own.set(payload.subarray(from * length, (from + 1) * length), to * length));
  return {
    bus: module.bus,
    id,
    extended: isExtended,
    direction: 'received',
    count: kept.length,
    timeUs: Float64Array.from(kept, (row) => Math.round((sent[row]!.timeS * 1e6) / stampUs) * stampUs),
    stride: length,
    payload: own,
    length,
    lengths: null,
    fdFlags: isFd ? new Uint8Array(kept.length).fill(FD_FORMAT) : null,
  };
}

const forward = (stream: Unranked, { bus, delayS }: Forwarding): Unranked => ({
  ...stream,
  bus,
  timeUs: stream.timeUs.map((us) => us + Math.round(delayS * 1e6)),
});

/** Ranks of all frames by time over all streams. */
function ranked(streams: readonly Unranked[]): Stream[] {
  const all = streams.flatMap(({ timeUs }, at) => Array.from(timeUs, (us, row) => ({ us, at, row })));
  const arrivals = streams.map(({ count }) => new Uint32Array(count));
  all.sort((a, b) => a.us - b.us).forEach(({ at, row }, rank) => (arrivals[at]![row] = rank));
  return streams.map((stream, index) => ({ ...stream, index, arrival: arrivals[index]! }));
}

export interface Heard {
  readonly layout: FrameLayout;
  readonly stream: Stream;
}

/** Streams with frames, by bus, base before extended, by identifier. */
export function run(vehicle: Vehicle, trip: Trip, random: Random): Heard[] {
  const heard = vehicle.modules
    .flatMap((module) =>
      module.frames.flatMap((layout) => {
        const stream = streamOf(module, layout, trip, vehicle, random.fork(`${module.bus} ${layout.id}`));
        const copy = vehicle.forwarded.get(layout);
        return [stream, ...(copy ? [forward(stream, copy)] : [])].map((each) => ({ layout, stream: each }));
      }),
    )
    .filter(({ stream }) => stream.count > 0)
    .sort(({ stream: a }, { stream: b }) =>
      a.bus !== b.bus ? (a.bus < b.bus ? -1 : 1) : Number(a.extended) - Number(b.extended) || a.id - b.id,
    );
  const streams = ranked(heard.map(({ stream }) => stream));
  return heard.map(({ layout }, at) => ({ layout, stream: streams[at]! }));
}
