/** Signals of the map whose names say that they hold a number of a vehicle or module, or a position on earth. */
import { bitPositions, readRawBig, type Placement } from '../../frames/bits.ts';
import { lengthAt, type FrameTable, type Stream } from '../../frames/table.ts';
import { textOf } from '../../map/coding.ts';
import { compileWhen } from '../../map/pages.ts';
import type { MapFrame, MapSignal, SignalMap, When } from '../../map/schema.ts';
import { fillerOf } from './alphabets.ts';
import { maskedBytes, setBit, type GatheredBits } from './masked-bytes.ts';
import { frameOfStream } from './readings.ts';
import type { MaskedByte, Occurrence } from './types.ts';

const NUMBER_WORDS =
  /(^|[^a-z])(vin|serial|vehicle_?(identification|id)|chassis_?(no|number)|part_?(no|number)|ident_?(no|number))([^a-z]|$)/i;
const POSITION_WORDS = /(^|[^a-z])(lat|latitude|lon|long|longitude)([^a-z]|$)/i;
const DEGREES = /^(deg|°|degree|degrees)$/i;

export interface NamedField {
  readonly frame: string;
  readonly signal: string;
  readonly what: 'number' | 'position';
  /** Its values as texts or whole numbers. */
  readonly values: readonly string[];
  readonly occurrences: readonly Occurrence[];
}

/** Different values of a signal in a capture that are told apart; a number has one, or few while it is not known yet. */
const VALUES_MOST = 16;

function maskedOf(places: readonly number[], valueOf: (index: number) => number): readonly MaskedByte[] {
  const bits: GatheredBits = new Map();
  places.forEach((place, index) => setBit(bits, place, valueOf(index)));
  return maskedBytes(bits);
}

const bitOf = (raw: bigint, index: number): number => Number((raw >> BigInt(index)) & 1n);

/** Letters stay letters and digits digits; a figure becomes zero. */
function filledRaw({ coding }: MapSignal, raw: bigint, bits: number): bigint {
  if (coding !== 'text') return 0n;
  let filled = 0n;
  for (let at = 0; at < bits; at += 8) {
    const character = String.fromCharCode(Number((raw >> BigInt(at)) & 255n));
    filled |= BigInt(fillerOf(character).charCodeAt(0)) << BigInt(at);
  }
  return filled;
}

function writtenValue({ coding, order }: MapSignal, raw: bigint, bits: number): string {
  if (coding === 'text') return textOf(raw, bits, order).trim();
  return coding === 'bcd' ? raw.toString(16) : raw.toString();
}

function valuesOf(stream: Stream, frame: MapFrame, signal: MapSignal): readonly bigint[] {
  const isOn = compileWhen(signal.when, frame.selectors);
  const places = bitPositions(signal as Placement);
  const needed = Math.max(...places) >> 3;
  const values = new Set<bigint>();
  for (let row = 0; row < stream.count && values.size <= VALUES_MOST; row++) {
    const from = row * stream.stride;
    const length = lengthAt(stream, row);
    if (length > needed && isOn(stream.payload, from, length))
      values.add(readRawBig(signal as Placement, stream.payload, from));
  }
  return [...values];
}

/** What its frames hold by which they are told from other pages': one list for each page it is on. */
function pagesOf(when: When, { selectors }: MapFrame): readonly (readonly MaskedByte[])[] {
  return Object.entries(when ?? {}).reduce<readonly (readonly MaskedByte[])[]>(
    (pages, [name, values]) => {
      const selector = selectors.find((each) => each.name === name);
      if (!selector) return [];
      const places = bitPositions(selector as Placement);
      const own = values.map((value) => maskedOf(places, (index) => bitOf(BigInt(value), index)));
      return pages.flatMap((page) => own.map((each) => [...page, ...each]));
    },
    [[]],
  );
}

function fieldOf(stream: Stream, frame: MapFrame, signal: MapSignal, what: NamedField['what']): NamedField {
  const places = bitPositions(signal as Placement);
  const values = valuesOf(stream, frame, signal);
  const { bus, id, extended, direction } = stream;
  const pages = pagesOf(signal.when, frame);
  const rule = (holds: readonly MaskedByte[], raw: bigint): Occurrence => ({
    packing: 'named-field',
    reach: 'frame',
    rules: pages.map((page) => ({
      ...{ bus, id, extended, direction },
      holds: [...page, ...holds],
      writes: maskedOf(places, (index) => bitOf(raw, index)),
    })),
  });
  const changes = what === 'position' || values.length > VALUES_MOST;
  const occurrences = changes
    ? [rule([], 0n)]
    : values
        .map((raw) => ({ raw, filled: filledRaw(signal, raw, places.length) }))
        .filter(({ raw, filled }) => raw !== filled)
        .map(({ raw, filled }) =>
          rule(
            maskedOf(places, (index) => bitOf(raw, index)),
            filled,
          ),
        );
  const told = changes ? [] : values.filter((raw) => raw > 0n).map((raw) => writtenValue(signal, raw, places.length));
  return { frame: frame.name, signal: signal.name, what, values: told, occurrences };
}

function whatIs({ name, unit, kind }: MapSignal): NamedField['what'] | null {
  if (NUMBER_WORDS.test(name)) return 'number';
  return POSITION_WORDS.test(name) && kind === 'number' && (DEGREES.test(unit) || unit === '') ? 'position' : null;
}

/** Fields that the map names so and the capture holds. */
export function namedFields({ streams }: FrameTable, map: SignalMap | null): readonly NamedField[] {
  return streams.flatMap((stream) => {
    const frame = frameOfStream(map, stream);
    return (frame?.signals ?? []).flatMap((signal) => {
      const what = whatIs(signal);
      return frame && what ? [fieldOf(stream, frame, signal, what)] : [];
    });
  });
}
