/**
 * A signal map over a simulated vehicle's own layout, for tests of decoding: places, codings and pages as the vehicle has them,
 * scales, tables, names of states and codes for "no value" drawn at random, and beside each frame a few fields drawn anywhere,
 * split ones and wide ones too. It says nothing true of the vehicle: it is there to be read in two ways.
 */
import { bitPositions, type Placement } from '../../src/frames/bits.ts';
import type { Random } from '../../src/kit/random.ts';
import type { MapFrame, MapSelector, MapSignal, SignalMap, When } from '../../src/map/schema.ts';
import type { Known, KnownDrive, KnownField, KnownFrame, KnownStream } from '../truth/fields-truth.ts';
import { aFrame, aMap, aSelector, aSignal } from './map-parts.ts';

const SCALES = [1, 0.1, 0.25, 0.001, 10, 1 / 3, -0.5, 0.0625];
const OFFSETS = [0, 0, -40, 0.5, 1000, -32768];
const UNITS = ['', 'V', 'rpm', '\u00b0C', '%'];
const chance = (random: Random, share: number): boolean => random.between(0, 1) < share;
const placeText = (place: Placement): string => bitPositions(place).join(' ');

/** The selectors that conditions name, each under one name, inner ones with the condition of their own. */
function selectorsOf(frame: KnownFrame): { selectors: MapSelector[]; whenOf: (on: Known['on']) => When } {
  const places = new Map<string, Known>();
  const all = [...frame.selectors, ...frame.fields, ...frame.counters, ...frame.checksums];
  for (const selector of frame.selectors) places.set(placeText(selector.place), selector);
  for (const { on } of all)
    for (const { place } of on) if (!places.has(placeText(place))) places.set(placeText(place), { place, on: [] });
  const names = new Map([...places.keys()].map((text, index) => [text, `page_${index}`]));
  const whenOf = (on: Known['on']): When =>
    on.length === 0
      ? null
      : Object.fromEntries(on.map(({ place, values }) => [names.get(placeText(place)) as string, [...values]]));
  const selectors = [...places].map(([text, { place, on }]) =>
    aSelector({
      ...place,
      continues: place.continues?.map((piece) => ({ ...piece })),
      name: names.get(text) as string,
      when: whenOf(on),
    } as never),
  );
  return { selectors, whenOf };
}

function tableOver(bits: number, random: Random): [number, number][] {
  const top = 2 ** Math.min(bits, 24);
  const raws = [0, 0.1, 0.4, 0.8].map((share) => Math.floor(share * top));
  return [...new Set(raws)].map((raw): [number, number] => [raw, random.between(-100, 100)]);
}

function meaningsOf(bits: number, random: Random): Pick<MapSignal, 'states' | 'invalid'> {
  const top = 2n ** BigInt(bits) - 1n;
  const written = (raw: bigint): number | string =>
    raw <= 2n ** 53n - 1n ? Number(raw) : `0x${raw.toString(16).toUpperCase()}`;
  return {
    states: bits <= 8 && chance(random, 0.4) ? { '0': 'off', '1': 'on', [String(top)]: '=all ones, "quoted"' } : {},
    invalid: chance(random, 0.3)
      ? [{ from: written(top), to: written(top), meaning: random.pick(['no data', '']) }]
      : [],
  };
}

function signalOf(place: Placement, when: When, coding: KnownField['coding'], name: string, random: Random): MapSignal {
  const bits = bitPositions(place).length;
  const common = { ...place, name, when, coding, unit: random.pick(UNITS) } as never;
  if (coding === 'text') return aSignal({ ...(common as MapSignal), kind: 'text', unit: '' });
  const meanings = coding === 'float' ? { states: {}, invalid: [] } : meaningsOf(bits, random);
  const table = coding === 'unsigned' && bits > 2 && chance(random, 0.2) ? tableOver(bits, random) : null;
  const scale = table || Object.keys(meanings.states).length > 0 ? 1 : random.pick(SCALES);
  return aSignal({ ...(common as MapSignal), ...meanings, table, scale, offset: table ? 0 : random.pick(OFFSETS) });
}

function drawnPlace(length: number, random: Random): Placement {
  const piece = (most: number) => ({
    lsb: { byte: random.below(length), bit: random.below(8) },
    length: 1 + random.below(most),
    order: chance(random, 0.5) ? ('little' as const) : ('big' as const),
  });
  const whole = piece(Math.min(64, length * 8));
  return chance(random, 0.4) ? { ...whole, continues: [piece(8)] } : whole;
}

const isInside = (place: Placement, length: number): boolean => {
  const bits = bitPositions(place);
  return new Set(bits).size === bits.length && bits.every((bit) => bit >= 0 && bit < 8 * length);
};

function drawnSignals(length: number, whens: readonly When[], random: Random): MapSignal[] {
  return Array.from({ length: 6 }, (_, index) => index).flatMap((index) => {
    const place = drawnPlace(length, random);
    const coding = random.pick(['unsigned', 'signed', 'sign-magnitude', 'bcd', 'text'] as const);
    if (!isInside(place, length) || (coding === 'text' && bitPositions(place).length % 8 !== 0)) return [];
    return [signalOf(place, random.pick(whens), coding, `drawn_${index}`, random)];
  });
}

function frameOf({ frame, stream }: KnownStream, index: number, random: Random): MapFrame {
  const { selectors, whenOf } = selectorsOf(frame);
  const own = frame.fields.map((field, i) =>
    signalOf(field.place, whenOf(field.on), field.coding, `${field.model.replace(/\W+/g, '_')}_${i}`, random),
  );
  const whens = [null, ...own.map(({ when }) => when)];
  return aFrame({
    bus: stream.bus,
    id: `0x${stream.id.toString(16).toUpperCase()}`,
    extended: stream.extended,
    length: stream.length,
    fd: stream.fdFlags !== null,
    name: `frame_${index}`,
    selectors,
    signals: [...own, ...drawnSignals(stream.length, whens, random)],
  });
}

export function mapOfKnown(drive: KnownDrive, random: Random): SignalMap {
  return aMap(drive.streams.map((each, index) => frameOf(each, index, random)));
}
