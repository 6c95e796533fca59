/**
 * Reads a signal map and decodes payloads with it. Nothing beyond the language; docs/signal-map.md has the rules.
 *
 *     const map = new SignalMapReader(JSON.parse(text));
 *     map.decode('can0', 0x1f4, false, Uint8Array.of(0xff, 0x38, 0x04, 0x01, 0x48, 0x06, 0x0e, 0x7d));
 *
 * A signal's `raw` is a hexadecimal string beyond 2^53; its `value` is in the signal's unit, null where there is none (`invalid` says
 * why). A reader judges counters from frame to frame, so give it every frame, in order.
 *
 * Permission is granted to anyone to use, copy, change and pass on this file for any purpose. It comes without any warranty.
 */
interface Piece {
  lsb: { byte: number; bit: number };
  length: number;
  order: 'little' | 'big';
}
interface Field extends Piece {
  continues?: Piece[] | undefined;
}
type When = Record<string, number[]> | null | undefined;
type Written = number | string;

interface Signal extends Field {
  name: string;
  coding: 'unsigned' | 'signed' | 'sign-magnitude' | 'float' | 'bcd' | 'text';
  when: When;
  scale: number;
  offset: number;
  unit: string;
  invalid: { from: Written; to: Written; meaning: string }[];
  states: Record<string, string>;
  table: [number, number][] | null;
}
interface Counter extends Field {
  name: string;
  step: number;
  every: number;
  min: number;
  max: number;
  when: When;
}
interface Checksum extends Field {
  method: 'xor' | 'sum' | 'crc' | 'copy' | 'mac' | 'unsolved';
  width?: number | undefined;
  poly?: string | undefined;
  init?: string | undefined;
  xorout?: string | undefined;
  refin?: boolean | undefined;
  refout?: boolean | undefined;
  unit?: 'byte' | 'nibble' | 'word16le' | 'word16be' | undefined;
  carry?: 'drop' | 'end-around' | undefined;
  covers?: (number | { byte: number; mask: Written })[] | undefined;
  prefix?: string[] | undefined;
  suffix?: string[] | undefined;
  prefixByCounter?: string[][] | undefined;
  suffixByCounter?: string[][] | undefined;
  when: When;
}
interface Frame {
  bus: string;
  id: string;
  extended: boolean;
  name: string;
  selectors: (Field & { name: string; when?: When })[];
  counters: Counter[];
  checksums: Checksum[];
  signals: Signal[];
}
/** The parts of a map that a decoder needs; it may hold more. */
export interface SignalMapDocument {
  format: string;
  version: number;
  requires: string[];
  frames: Frame[];
}

export interface DecodedSignal {
  name: string;
  raw: Written;
  value: number | null;
  unit: string;
  state: string | null;
  text: string | null;
  invalid: string | null;
}
export type CounterVerdict = 'first' | 'ok' | 'repeated' | 'early' | 'jumped' | 'out-of-range';
export interface Decoded {
  /** null: the map does not have this frame. */
  frame: string | null;
  /** Features that the frame needs and this reader lacks: nothing of it was decoded. */
  refused: string[];
  signals: DecodedSignal[];
  counters: { name: string; value: number; verdict: CounterVerdict }[];
  /** null: there is no rule that could be computed for this frame. */
  checksums: (boolean | null)[];
}

const KNOWN_FEATURES = ['when', 'continues', 'table', 'checksum-when'];

/** Every bit of a field as byte * 8 + bit, the least significant first. */
function bitPositions(field: Field): number[] {
  const positions: number[] = [];
  for (const piece of [field, ...(field.continues ?? [])]) {
    let { byte, bit } = piece.lsb;
    for (let i = 0; i < piece.length; i++) {
      positions.push(byte * 8 + bit);
      if (++bit === 8) {
        bit = 0;
        byte += piece.order === 'little' ? 1 : -1;
      }
    }
  }
  return positions;
}

const fits = (field: Field, payload: Uint8Array): boolean =>
  bitPositions(field).every((at) => at >= 0 && at < payload.length * 8);

const byteAt = (payload: Uint8Array, byte: number): number => payload[byte] ?? 0;

/** The field's bits as an unsigned number. */
const rawValue = (field: Field, payload: Uint8Array): bigint =>
  bitPositions(field).reduceRight((raw, at) => (raw << 1n) | BigInt((byteAt(payload, at >> 3) >> (at & 7)) & 1), 0n);

const written = (raw: bigint): Written => (raw < 2n ** 53n ? Number(raw) : '0x' + raw.toString(16).toUpperCase());

/** Whether the page that `when` asks for is on; a selector may itself be on a page. */
function isOn(when: When, frame: Frame, payload: Uint8Array): boolean {
  return Object.entries(when ?? {}).every(([name, values]) => {
    const selector = frame.selectors.find((each) => each.name === name);
    if (!selector || !fits(selector, payload) || !isOn(selector.when, frame, payload)) return false;
    const raw = rawValue(selector, payload);
    return values.some((value) => BigInt(value) === raw);
  });
}

const here = <Item extends Field & { when: When }>(items: Item[], frame: Frame, payload: Uint8Array): Item[] =>
  items.filter((item) => fits(item, payload) && isOn(item.when, frame, payload));

// ---- signals ----

/** The number that a raw value stands for, before scale and offset; NaN where it stands for none. */
function codedValue(raw: bigint, coding: Signal['coding'], bits: number): number {
  const top = 1n << BigInt(bits - 1);
  switch (coding) {
    case 'signed':
      return Number(raw >= top ? raw - 2n * top : raw);
    case 'sign-magnitude':
      return raw >= top ? -Number(raw - top) : Number(raw);
    case 'float': {
      const view = new DataView(new ArrayBuffer(8));
      view.setBigUint64(0, raw);
      return bits === 64 ? view.getFloat64(0) : bits === 32 ? view.getFloat32(4) : Number.NaN;
    }
    case 'bcd': {
      const digits = raw.toString(16);
      return /^[0-9]+$/.test(digits) ? Number(digits) : Number.NaN;
    }
    default:
      return Number(raw);
  }
}

/** On straight lines between the table's points; NaN outside them. */
function interpolate(table: [number, number][], x: number): number {
  const after = table.findIndex(([raw]) => raw >= x);
  const [x1, y1] = table[after] ?? [0, 0];
  if (after < 0 || !(x >= (table[0]?.[0] ?? 0))) return Number.NaN;
  if (x === x1) return y1;
  const [x0, y0] = table[after - 1] ?? [0, 0];
  return y0 + ((x - x0) * (y1 - y0)) / (x1 - x0);
}

function physicalValue({ table, scale, offset }: Signal, coded: number): number {
  if (table && table.length > 0) return interpolate(table, coded);
  // Without an offset a zero keeps its sign.
  return offset === 0 ? (coded === 0 ? coded : coded * scale) : coded * scale + offset;
}

/** One byte a character, in payload order; zeros at the end are padding. */
function textOf(raw: bigint, bits: number, order: 'little' | 'big'): string {
  const bytes = Array.from({ length: bits / 8 }, (_, i) => Number((raw >> BigInt(8 * i)) & 255n));
  if (order === 'big') bytes.reverse();
  return String.fromCharCode(...bytes.slice(0, bytes.findLastIndex((byte) => byte !== 0) + 1));
}

function whyNone({ coding, invalid }: Signal, raw: bigint, coded: number, physical: number): string | null {
  const span = invalid.find(({ from, to }) => raw >= BigInt(from) && raw <= BigInt(to));
  if (span) return span.meaning || 'invalid';
  if (coding === 'text' || !Number.isNaN(physical)) return null;
  if (!Number.isNaN(coded)) return 'outside the table';
  return coding === 'bcd' ? 'not a decimal digit' : 'not a number';
}

function decodeSignal(signal: Signal, payload: Uint8Array): DecodedSignal {
  const { name, unit, coding, order, states } = signal;
  const bits = bitPositions(signal).length;
  const raw = rawValue(signal, payload);
  const coded = codedValue(raw, coding, bits);
  const physical = physicalValue(signal, coded);
  const invalid = whyNone(signal, raw, coded, physical);
  return {
    name,
    raw: written(raw),
    value: invalid !== null || coding === 'text' ? null : physical,
    unit,
    state: Object.hasOwn(states, String(raw)) ? (states[String(raw)] ?? null) : null,
    text: coding === 'text' ? textOf(raw, bits, order) : null,
    invalid,
  };
}

// ---- counters ----

interface CounterState {
  last: number;
  /** Frames that have shown it; null where the first of them was not seen. */
  held: number | null;
}

/** The verdict, and the state for the next frame. */
function judgeCounter(
  counter: Counter,
  value: number,
  state: CounterState | null,
): [CounterVerdict, CounterState | null] {
  const { min, max, step, every } = counter;
  if (value < min || value > max) return ['out-of-range', null];
  if (!state) return ['first', { last: value, held: every > 1 ? null : 1 }];
  const { last, held } = state;
  if (value === last) {
    const verdict = held === null || held < every ? 'ok' : 'repeated';
    return [verdict, { last, held: held === null ? null : held + 1 }];
  }
  const span = max - min + 1;
  const following = min + ((((last - min + step) % span) + span) % span);
  if (value !== following) return ['jumped', { last: value, held: every > 1 ? null : 1 }];
  return [held === null || held >= every ? 'ok' : 'early', { last: value, held: 1 }];
}

// ---- checksums ----

interface Message {
  before: number[];
  covered: { value: number; mask: number }[];
  after: number[];
}

/** null where the payload is too short, or the counter beyond the tables. */
function messageOf(checksum: Checksum, frame: Frame, payload: Uint8Array): Message | null {
  const own = bitPositions(checksum);
  const covered = (checksum.covers ?? []).map((entry) => {
    const byte = typeof entry === 'number' ? entry : entry.byte;
    const mask = typeof entry === 'number' ? 255 : Number(entry.mask) & 255;
    // Bits of the checksum itself count as zero.
    const counted = own.filter((at) => at >> 3 === byte).reduce((left, at) => left & ~(1 << (at & 7)), mask);
    return { byte, value: byteAt(payload, byte) & counted, mask: counted };
  });
  if (covered.some(({ byte }) => byte >= payload.length)) return null;
  const tables = [checksum.prefixByCounter ?? [], checksum.suffixByCounter ?? []];
  let byCounter: number[][] = [[], []];
  if (tables.some((table) => table.length > 0)) {
    const counter = frame.counters[0];
    if (!counter || !fits(counter, payload)) return null;
    const pick = Number(rawValue(counter, payload));
    if (tables.some((table) => table.length > 0 && pick >= table.length)) return null;
    byCounter = tables.map((table) => (table[pick] ?? []).map(Number));
  }
  const constants = [checksum.prefix ?? [], checksum.suffix ?? []].map((bytes) => bytes.map(Number));
  return {
    before: [...(constants[0] ?? []), ...(byCounter[0] ?? [])],
    covered,
    after: [...(constants[1] ?? []), ...(byCounter[1] ?? [])],
  };
}

function unitsOf(bytes: number[], unit: NonNullable<Checksum['unit']>): { values: number[]; bits: number } {
  if (unit === 'nibble') return { values: bytes.flatMap((byte) => [byte >> 4, byte & 15]), bits: 4 };
  if (unit === 'byte') return { values: bytes, bits: 8 };
  const values = Array.from({ length: Math.ceil(bytes.length / 2) }, (_, i) => {
    const [first, second] = [bytes[2 * i] ?? 0, bytes[2 * i + 1] ?? 0];
    return unit === 'word16le' ? first | (second << 8) : (first << 8) | second;
  });
  return { values, bits: 16 };
}

/** Rocksoft model (R. N. Williams, 1993), bit by bit. */
function crcOf(
  { refin, refout, poly, init }: Checksum,
  width: number,
  units: { values: number[]; bits: number },
): bigint {
  const top = BigInt(width - 1);
  let register = BigInt(init ?? 0);
  for (const value of units.values)
    for (let place = 0; place < units.bits; place++) {
      const bit = BigInt((value >> (refin ? place : units.bits - 1 - place)) & 1);
      const carried = ((register >> top) & 1n) ^ bit;
      register = BigInt.asUintN(width, register << 1n) ^ (carried ? BigInt(poly ?? 0) : 0n);
    }
  if (!refout) return register;
  return BigInt('0b' + [...register.toString(2).padStart(width, '0')].reverse().join(''));
}

function valueOf(checksum: Checksum, width: number, { before, covered, after }: Message): bigint {
  const units = unitsOf([...before, ...covered.map(({ value }) => value), ...after], checksum.unit ?? 'byte');
  const init = BigInt(checksum.init ?? 0);
  switch (checksum.method) {
    case 'crc':
      return crcOf(checksum, width, units);
    case 'sum': {
      let sum = units.values.reduce((total, value) => total + BigInt(value), init);
      while (checksum.carry === 'end-around' && sum >> BigInt(width))
        sum = BigInt.asUintN(width, sum) + (sum >> BigInt(width));
      return sum;
    }
    case 'xor':
      return units.values.reduce((all, value) => all ^ BigInt(value), init);
    default:
      return covered
        .flatMap(({ value, mask }) =>
          [7, 6, 5, 4, 3, 2, 1, 0].filter((bit) => (mask >> bit) & 1).map((bit) => value >> bit),
        )
        .reduce((joined, bit) => (joined << 1n) | BigInt(bit & 1), 0n);
  }
}

function checksumHolds(checksum: Checksum, frame: Frame, payload: Uint8Array): boolean | null {
  const { method, covers, poly, xorout } = checksum;
  if (method === 'mac' || method === 'unsolved' || !covers?.length || (method === 'crc' && !poly)) return null;
  const message = messageOf(checksum, frame, payload);
  if (!message) return null;
  const length = bitPositions(checksum).length;
  const width = checksum.width ?? Math.min(64, length);
  const value = BigInt.asUintN(width, valueOf(checksum, width, message) ^ BigInt(xorout ?? 0));
  return BigInt.asUintN(length, value) === rawValue(checksum, payload);
}

// ---- frames ----

/** Whether a feature's name stands anywhere in a frame: as a key with something in it, or as a value. */
function mentions(value: unknown, feature: string): boolean {
  if (Array.isArray(value)) return value.some((item) => mentions(item, feature));
  if (typeof value !== 'object' || value === null) return value === feature;
  return Object.entries(value).some(
    ([key, item]) => (key === feature && item !== null && item !== false) || mentions(item, feature),
  );
}

const keyOf = (bus: string, id: number, extended: boolean): string => JSON.stringify([bus, id, extended]);

export class SignalMapReader {
  private readonly frames = new Map<string, Frame>();
  private readonly refused = new Map<string, string[]>();
  private readonly counters = new Map<Counter, CounterState | null>();

  /** @throws where the document is no signal map of version 1. */
  constructor(document: SignalMapDocument) {
    if (document.format !== 'loomscribe.signal-map' || document.version !== 1)
      throw new Error('not a signal map of version 1');
    for (const frame of document.frames) this.frames.set(keyOf(frame.bus, Number(frame.id), frame.extended), frame);
    // A feature that this reader lacks: the frames that name it are refused, or all of them where none does.
    for (const feature of document.requires.filter((name) => !KNOWN_FEATURES.includes(name))) {
      const all = [...this.frames];
      const named = all.filter(([, frame]) => mentions(frame, feature));
      for (const [key] of named.length > 0 ? named : all)
        this.refused.set(key, [...(this.refused.get(key) ?? []), feature]);
    }
  }

  decode(bus: string, id: number, extended: boolean, payload: Uint8Array): Decoded {
    const key = keyOf(bus, id, extended);
    const frame = this.frames.get(key);
    const refused = this.refused.get(key) ?? [];
    const none = { frame: frame?.name ?? null, refused, signals: [], counters: [], checksums: [] };
    if (!frame || refused.length > 0) return none;
    return {
      ...none,
      signals: here(frame.signals, frame, payload).map((signal) => decodeSignal(signal, payload)),
      counters: here(frame.counters, frame, payload).map((counter) => {
        const value = Number(rawValue(counter, payload));
        const [verdict, state] = judgeCounter(counter, value, this.counters.get(counter) ?? null);
        this.counters.set(counter, state);
        return { name: counter.name, value, verdict };
      }),
      checksums: here(frame.checksums, frame, payload).map((checksum) => checksumHolds(checksum, frame, payload)),
    };
  }
}
