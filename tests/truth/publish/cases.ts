/** Captures with numbers planted: the drive of a simulated vehicle, and beside its identifiers some that carry a number, some of them guarded, with the map of these. */
import type { FrameTable, Stream } from '../../../src/frames/table.ts';
import { FD_BIT_RATE_SWITCH, FD_FORMAT, streamName } from '../../../src/frames/table.ts';
import { createRandom, type Random } from '../../../src/kit/random.ts';
import { compileEncoder } from '../../../src/map/encode.ts';
import { formatPayload } from '../../../src/map/raw-values.ts';
import type { MapFrame, SignalMap } from '../../../src/map/schema.ts';
import { aChecksum, aCounter, aFrame, aMap, aSelector } from '../../support/map-parts.ts';
import { driveOf, type Case } from '../fields-conditions.ts';
import type { KnownDrive } from '../fields-truth.ts';
import { WAYS, type Plant, type PlantedFrames } from './plants.ts';

export interface PlantedStream {
  readonly frames: PlantedFrames;
  readonly stream: Stream;
}

export interface PlantedCase {
  readonly name: string;
  readonly table: FrameTable;
  readonly map: SignalMap;
  readonly plants: readonly (Plant & { readonly guarded: boolean; readonly streams: readonly PlantedStream[] })[];
  /** Identifiers of the vehicle's own with their truth. */
  readonly drive: KnownDrive;
}

const FD_BYTES = [8, 12, 16, 20, 24, 32, 48, 64];

function frameFor(
  { payloads, index, spare, transport }: PlantedFrames,
  bus: string,
  id: number,
  guarded: boolean,
  random: Random,
): MapFrame | null {
  if (transport) return null;
  const most = Math.max(...payloads.map(({ length }) => length));
  const length = FD_BYTES.find((bytes) => bytes >= most) as number;
  const shifts = index ? ([0, 1, 2, 3, 4, 5, 6, 7].find((bit) => (index.mask >> bit) & 1) ?? 0) : 0;
  const width = index ? index.mask.toString(2).replaceAll('0', '').length : 0;
  const covers = Array.from({ length: length - 1 }, (_, byte) => byte);
  const guards =
    guarded && spare >= 2
      ? {
          counters: [aCounter({ lsb: { byte: length - 2, bit: 0 }, length: 4 })],
          checksums: [
            random.next() < 0.7
              ? aChecksum({
                  lsb: { byte: length - 1, bit: 0 },
                  length: 8,
                  method: 'crc',
                  width: 8,
                  poly: `0x${(random.below(128) * 2 + 1).toString(16).toUpperCase().padStart(2, '0')}`,
                  init: '0xFF',
                  refin: false,
                  refout: false,
                  xorout: '0x0',
                  covers,
                })
              : aChecksum({
                  lsb: { byte: length - 1, bit: 0 },
                  length: 8,
                  method: 'sum',
                  width: 8,
                  init: '0x0',
                  xorout: '0x0',
                  covers,
                }),
          ],
        }
      : {};
  return aFrame({
    bus,
    id: `0x${id.toString(16).toUpperCase()}`,
    length,
    fd: length > 8,
    name: `frame_${id.toString(16)}`,
    selectors: index ? [aSelector({ lsb: { byte: index.byte, bit: shifts }, length: width })] : [],
    ...guards,
    rest: {
      payload: formatPayload(Uint8Array.from({ length }, (_, at) => payloads[0]?.[at] ?? 0)),
      capture: 'c1',
      fromS: 0,
      toS: 1,
    },
  });
}

interface Sending {
  readonly timesUs: readonly number[];
  readonly payloads: readonly Uint8Array[];
}

function sendingOf(planted: PlantedFrames, frame: MapFrame | null, endUs: number, random: Random): Sending {
  const length = frame?.length ?? 8;
  const padded = planted.payloads.map((payload) => Uint8Array.from({ length }, (_, at) => payload[at] ?? 0));
  if (planted.once) {
    const times = 1 + random.below(3);
    const starts = Array.from({ length: times }, () => random.between(0.05, 0.95) * endUs).sort((a, b) => a - b);
    return {
      timesUs: starts.flatMap((start) => padded.map((_, at) => Math.round(start + at * 9000))),
      payloads: starts.flatMap(() => padded),
    };
  }
  const periodUs = random.pick([20, 50, 100, 200, 1000]) * 1000;
  const count = Math.floor(endUs / periodUs);
  const encoder = frame && compileEncoder(frame);
  const startUs = random.between(0, periodUs);
  const payloads = Array.from({ length: count }, (_, row) => {
    const payload = (padded[row % padded.length] as Uint8Array).slice();
    for (const counter of frame?.counters ?? []) encoder?.writeCounter(counter.name, row % 16, payload);
    encoder?.writeChecksums(payload, 0, payload.length);
    return payload;
  });
  return {
    timesUs: payloads.map((_, row) => Math.round(startUs + row * periodUs + random.between(-200, 200))),
    payloads,
  };
}

function streamOf(bus: string, id: number, extended: boolean, { timesUs, payloads }: Sending): Stream {
  const stride = payloads[0]?.length ?? 8;
  const payload = new Uint8Array(payloads.length * stride);
  payloads.forEach((bytes, row) => payload.set(bytes, row * stride));
  return {
    ...{ index: 0, bus, id, extended, direction: 'received', count: payloads.length, stride, length: stride },
    timeUs: Float64Array.from(timesUs),
    arrival: Uint32Array.from(payloads, (_, row) => row),
    payload,
    lengths: null,
    fdFlags: stride > 8 ? new Uint8Array(payloads.length).fill(FD_FORMAT | FD_BIT_RATE_SWITCH) : null,
  };
}

function tableWith(streams: readonly Stream[]): FrameTable {
  const ordered = [...streams].sort(
    (a, b) => a.bus.localeCompare(b.bus) || Number(a.extended) - Number(b.extended) || a.id - b.id,
  );
  return {
    streams: ordered.map((stream, index) => ({ ...stream, index })),
    buses: [...new Set(ordered.map(({ bus }) => bus))],
    origin: { kind: 'epoch', text: '1764064800.000000' },
    endUs: Math.max(...ordered.map(({ timeUs }) => timeUs.at(-1) ?? 0)),
    frameCount: ordered.reduce((sum, { count }) => sum + count, 0),
    remotes: [],
    errors: [],
    files: [],
  };
}

const NUMBERED_ID = 0x1cebff00;

/** ways: which to plant; none for a capture without any number but those that the vehicle has itself. */
export function plantedCase(each: Case, seed: number, ways: readonly string[]): PlantedCase {
  const drive = driveOf(each, seed);
  const random = createRandom(seed).fork('planted numbers');
  const own = drive.streams.map(({ stream }) => stream);
  const endUs = Math.max(...own.map(({ timeUs }) => timeUs.at(-1) ?? 0));
  const bus = (own[0] as Stream).bus;
  const used = new Set(own.map((stream) => streamName(stream)));
  const isFree = (id: number, count: number): boolean =>
    Array.from({ length: count }, (_, at) =>
      streamName({ bus, id: id + at, extended: false, direction: 'received' }),
    ).every((name) => !used.has(name));
  const frames: MapFrame[] = [];
  const plants = ways.map((way) => {
    const guarded = random.next() < 0.5;
    const drawn = (WAYS[way] as (typeof WAYS)[string])(random, guarded);
    let id = 0;
    const isTransport = drawn.frames[0]?.transport ?? false;
    const extended = way === 'numbered messages';
    if (extended) id = NUMBERED_ID + random.below(200);
    else
      do id = isTransport ? 0x700 + random.below(0xf0) : 0x100 + random.below(0x600);
      while (!isFree(id, drawn.frames.length + 1));
    const streams = drawn.frames.map((planted, at): PlantedStream => {
      const frame = frameFor(planted, bus, id + at, guarded, random);
      if (frame) frames.push(frame);
      const stream = streamOf(bus, id + at, extended, sendingOf(planted, frame, endUs, random));
      used.add(streamName(stream));
      return { frames: planted, stream };
    });
    return { ...drawn, way, guarded: guarded && streams.some(({ frames: { spare } }) => spare >= 2), streams };
  });
  const planted = plants.flatMap(({ streams }) => streams.map(({ stream }) => stream));
  return {
    name: `${each.maker} ${each.condition} ${seed}`,
    table: tableWith([...own, ...planted]),
    map: aMap(frames),
    plants,
    drive,
  };
}
