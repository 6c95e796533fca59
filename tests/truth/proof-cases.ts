/**
 * True maps and captures that they were not made from: vehicles of three makers, each with two drives. The map has what the first
 * drive showed (ranges, jitter); what is true of the layout comes from the simulator.
 */
import { recordDrive, type Drive } from '../../src/demo/record.ts';
import { tableOf } from '../../src/demo/recording/to-table.ts';
import type { ProfileName } from '../../src/demo/profiles.ts';
import { ACTIONS, writeScript, type DriverScript } from '../../src/demo/script.ts';
import { completeMap } from '../../src/demo/true-map.ts';
import { vehicleFor } from '../../src/demo/vehicle.ts';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import { placementLength, rawReader, type Placement } from '../../src/frames/bits.ts';
import { lengthAt, type FrameTable, type Stream } from '../../src/frames/table.ts';
import { compileFrame } from '../../src/map/decode.ts';
import type { MapFrame, MapSelector, MapSignal, SignalMap, When } from '../../src/map/schema.ts';
import { surveyTable } from '../../src/timing/survey.ts';
import { aCounter, aChecksum, aFrame, aMap, aSelector, aSignal } from '../support/map-parts.ts';
import type { KnownCounter, KnownDrive, KnownStream, Presence } from './fields-truth.ts';
import { strangerDrive } from './stranger/make-stranger.ts';
import { veteranDrive } from './veteran/make-veteran.ts';

export interface ProofCase {
  readonly name: string;
  readonly map: SignalMap;
  /** The capture that the map's ranges are from. */
  readonly first: FrameTable;
  readonly second: FrameTable;
  readonly drive?: Drive;
}

/** Script of a donor that cannot drive: key on, doors, brake, key off; the contactors stay open. */
function keyOnScript(seed: number): DriverScript {
  const at = (action: string, startS: number, endS: number | null, value?: string) =>
    ({ action, startS, endS, ...(value ? { value } : {}) }) as DriverScript['actions'][number];
  const actions = [
    at(ACTIONS.door, 2, 4.5),
    at(ACTIONS.key, 7, null, 'on'),
    { ...at(ACTIONS.brake, 12, 15), depth: 0.5 },
    at(ACTIONS.indicator, 18, 22),
    { ...at(ACTIONS.brake, 26, 28), depth: 0.4 },
    at(ACTIONS.key, 40, null, 'off'),
  ];
  return { durationS: 60, begins: 'asleep', unplugged: [], actions, seed };
}

export type Circumstance = 'drive' | 'key-on' | 'bench';

function scriptFor(circumstance: Circumstance, seed: number, durationS: number): DriverScript {
  if (circumstance === 'drive') return writeScript(seed + 7919, { durationS });
  const script = keyOnScript(seed + 7919);
  return circumstance === 'key-on'
    ? script
    : { ...script, unplugged: ['body', 'cluster', 'brakes', 'charger', 'converter'] as DriverScript['unplugged'] };
}

/** Of the demo's vehicle. Frames are lost in bursts by the second logger. */
export function demoCase(
  profile: ProfileName,
  seed: number,
  circumstance: Circumstance = 'drive',
  durationS = 90,
): ProofCase {
  const vehicle = vehicleFor(profile, seed);
  const drive = recordDrive(vehicle, writeScript(seed, { durationS }), { seed, skewPpm: 8 });
  const other = recordDrive(vehicle, scriptFor(circumstance, seed, durationS), {
    seed: seed + 1,
    skewPpm: -15,
    lossBursts: 5,
    lossMost: 12,
  });
  const first = tableOf(drive.recording);
  const surveyed = surveyTable(first, {}).frames;
  const map = completeMap(drive.recording, 'first drive', [], null);
  const frames = map.frames.map((frame): MapFrame => {
    const own = surveyed.find(
      (each) => each.bus === frame.bus && each.id === frame.id && each.extended === frame.extended,
    );
    return own ? { ...frame, timing: { ...frame.timing, jitterMs: own.timing.jitterMs } } : frame;
  });
  return {
    name: `demo ${profile} ${seed} ${circumstance}`,
    map: { ...map, frames },
    first,
    second: tableOf(other.recording),
    drive: other,
  };
}

export function tableOfStreams(streams: readonly KnownStream[]): FrameTable {
  const frames = streams.flatMap(({ stream }) =>
    Array.from({ length: stream.count }, (_, row): PlainFrame => {
      const at = row * stream.stride;
      const data = stream.payload.subarray(at, at + lengthAt(stream, row));
      const { bus, id, extended, fdFlags } = stream;
      return { timeUs: stream.timeUs[row] as number, bus, id, extended, data, fdFlags: fdFlags?.[row] ?? 0 };
    }),
  );
  return buildTable(frames.sort((a, b) => a.timeUs - b.timeUs));
}

const placeText = (place: Placement): string => JSON.stringify([place.lsb, place.length, place.order]);

/** Selectors by their places, and conditions by their names. */
function pagesOf({ frame }: KnownStream): { selectors: MapSelector[]; when: (on: Presence) => When } {
  const names = new Map<string, string>();
  const selectors: MapSelector[] = [];
  const when = (on: Presence): When =>
    on.length === 0
      ? null
      : Object.fromEntries(on.map(({ place, values }) => [names.get(placeText(place)) ?? 'lost', [...values]]));
  for (const [index, { place, on }] of frame.selectors.entries()) {
    names.set(placeText(place), `page_${index}`);
    selectors.push(
      aSelector({ ...place, lsb: { ...place.lsb }, name: `page_${index}`, when: when(on) } as MapSelector),
    );
  }
  return { selectors, when };
}

const placed = ({ lsb, length, order, continues }: Placement) => ({
  lsb: { ...lsb },
  length,
  order,
  ...(continues ? { continues: continues.map((piece) => ({ ...piece, lsb: { ...piece.lsb } })) } : {}),
});

const counterOf = ({ place, step, every, min, max }: KnownCounter, when: When, index: number) =>
  aCounter({ ...placed(place), name: `alive_${index}`, step, every, min, max, when });

const hexOf = (id: number): string => '0x' + id.toString(16).toUpperCase();

/** Every state that either drive shows has a name, and no more. */
function withStates(frame: MapFrame, streams: readonly Stream[]): MapFrame {
  const compiled = compileFrame(frame);
  const signals = compiled.signals.map((own): MapSignal => {
    if (own.signal.kind !== 'states') return own.signal;
    const seen = new Set<string>();
    for (const stream of streams)
      for (let row = 0; row < stream.count; row++)
        if (own.present(stream.payload, row * stream.stride, lengthAt(stream, row)))
          seen.add(String(own.raw(stream.payload, row * stream.stride)));
    return { ...own.signal, states: Object.fromEntries([...seen].map((raw) => [raw, `state ${raw}`])) };
  });
  return { ...frame, signals };
}

/** What a value shows before there is one: all ones in the first frames and nowhere later. */
function withFilling(frame: MapFrame, stream: Stream): MapFrame {
  const compiled = compileFrame(frame);
  const signals = compiled.signals.map((own): MapSignal => {
    const { signal } = own;
    const bits = placementLength(signal as Placement);
    const ones = 2 ** bits - 1;
    if (signal.kind !== 'number' || signal.coding === 'float' || bits < 4 || bits > 32) return signal;
    const raws = Array.from({ length: stream.count }, (_, row) => row)
      .filter((row) => own.present(stream.payload, row * stream.stride, lengthAt(stream, row)))
      .map((row) => Number(own.raw(stream.payload, row * stream.stride)));
    return raws[0] === ones && raws.some((raw) => raw !== ones)
      ? { ...signal, invalid: [{ from: ones, to: ones, meaning: 'no data' }] }
      : signal;
  });
  return { ...frame, signals };
}

/** Ranges as the capture shows them under the map's own readings. */
export function withObserved(frame: MapFrame, stream: Stream | undefined): MapFrame {
  if (!stream) return frame;
  const compiled = compileFrame(frame);
  const signals = compiled.signals.map((own): MapSignal => {
    let [min, max] = [Infinity, -Infinity];
    for (let row = 0; row < stream.count; row++) {
      const at = row * stream.stride;
      if (!own.present(stream.payload, at, lengthAt(stream, row))) continue;
      const value = own.physicalOf(own.raw(stream.payload, at));
      if (value < min) min = value;
      if (value > max) max = value;
    }
    return { ...own.signal, observed: min <= max ? { min, max } : null };
  });
  return { ...frame, signals };
}

/** One that steps only where the payload changed is none that a map can tell of: said by the maker, else seen. */
function stepsByFrames(counter: KnownCounter & { readonly onChange?: boolean }, stream: Stream): boolean {
  const { place, every, on, onChange } = counter;
  if (onChange === true) return false;
  if (every > 1 || on.length > 0) return true;
  const read = rawReader(place);
  const raws = Array.from({ length: stream.count }, (_, row) => read(stream.payload, row * stream.stride));
  const same = raws.filter((raw, i) => i > 0 && raw === raws[i - 1]).length;
  return same < 0.1 * raws.length;
}

export function frameOf(known: KnownStream, other: KnownStream | undefined): MapFrame {
  const { frame, stream } = known;
  const { selectors, when } = pagesOf(known);
  const map = aFrame({
    bus: stream.bus,
    id: hexOf(stream.id),
    extended: stream.extended,
    length: stream.length,
    fd: stream.fdFlags !== null,
    name: `frame_${hexOf(stream.id)}`,
    selectors,
    counters: frame.counters
      .filter((counter) => stepsByFrames(counter, stream))
      .map((counter, index) => counterOf(counter, when(counter.on), index)),
    // Rules with parameters are the demo's part of the card; these can never be held.
    checksums: frame.checksums
      .filter(({ kind }) => kind !== 'rule')
      .map(({ place, on, kind }) =>
        aChecksum({ ...placed(place), method: kind === 'mac' ? 'mac' : 'unsolved', when: when(on) }),
      ),
    signals: frame.fields.map(({ place, on, coding, kind, model }, index) =>
      aSignal({ ...placed(place), name: `s${index}_${model.replaceAll(' ', '_')}`, coding, kind, when: when(on) }),
    ),
  });
  const streams = other ? [stream, other.stream] : [stream];
  return withObserved(withFilling(withStates(map, streams), stream), stream);
}

/** These makers send by a period; that a frame answers another or waits for a change would only have been found, not known. */
const trueTiming = (timing: MapFrame['timing']): MapFrame['timing'] =>
  timing.kind === 'periodic' || timing.kind === 'mixed' ? timing : { kind: 'once', periodMs: null, jitterMs: null };

function knownCase(drive: KnownDrive): ProofCase {
  const [one, two] = [drive.streams, drive.again()];
  const [first, second] = [tableOfStreams(one), tableOfStreams(two)];
  const surveyed = surveyTable(first, {}).frames;
  const sameStream = (a: Stream, b: Stream): boolean => a.bus === b.bus && a.id === b.id && a.extended === b.extended;
  const frames = one.map((known): MapFrame => {
    const other = two.find(({ stream }) => sameStream(stream, known.stream));
    const frame = frameOf(known, other);
    const own = surveyed.find(
      ({ bus, id, extended }) => bus === frame.bus && id === frame.id && extended === frame.extended,
    );
    return own ? { ...frame, timing: trueTiming(own.timing) } : frame;
  });
  return { name: drive.name, map: aMap(frames, { requires: ['when'] }), first, second };
}

export const strangerCase = (condition: Parameters<typeof strangerDrive>[0], seed: number): ProofCase =>
  knownCase(strangerDrive(condition, seed));
export const veteranCase = (condition: Parameters<typeof veteranDrive>[0], seed: number): ProofCase =>
  knownCase(veteranDrive(condition, seed));
