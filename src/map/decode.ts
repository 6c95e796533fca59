/**
 * A frame's layout compiled once, then payloads decoded: raw, coded, physical, state name, invalid
 * meaning, per page. `CompiledSignal` is the path without objects, for whole columns; `decode` gives
 * one frame in full.
 */
import {
  bytesNeeded,
  fitsIn,
  PAYLOAD_BYTES_MAX,
  placementLength,
  type Coding,
  type Placement,
} from '../frames/bits.ts';
import { compileChecksum, sameValue, type ChecksumFunction } from './checksum.ts';
import { compileCoding, textOf } from './coding.ts';
import { compileWhen, type PageTest } from './pages.ts';
import { bigOf, compileReader, writtenRaw, type RawValue } from './raw-values.ts';
import { scalingOf } from './scaling.ts';
import type { MapChecksum, MapCounter, MapFrame, MapSelector, MapSignal } from './schema.ts';

export interface CompiledSignal {
  readonly signal: MapSignal;
  /** Bits over all pieces. */
  readonly bits: number;
  /** On this page, and the frame long enough. */
  readonly present: PageTest;
  readonly raw: (payload: Uint8Array, offset: number) => RawValue;
  readonly coded: (raw: RawValue) => number;
  /** NaN where invalid, text, not a decimal digit, not a number, or outside the table. */
  readonly physicalOf: (raw: RawValue) => number;
  readonly textOf: (raw: RawValue) => string | null;
  readonly stateOf: (raw: RawValue) => string | null;
  /** Why the raw value is no value, or null. */
  readonly invalidOf: (raw: RawValue) => string | null;
}

interface DecodedSignal {
  readonly name: string;
  /** Unsigned; a hex string beyond 2^53. */
  readonly raw: number | string;
  /** The number the raw value stands for before scale and offset; NaN for text. */
  readonly coded: number;
  /** NaN where there is no value: see `invalid`. */
  readonly physical: number;
  readonly text: string | null;
  readonly state: string | null;
  readonly invalid: string | null;
}

interface DecodedChecksum {
  readonly stored: number | string;
  /** Null where the rule cannot be computed for this frame. */
  readonly computed: number | string | null;
  readonly holds: boolean | null;
}

export interface DecodedFrame {
  /** Those of the page that is on, in the map's order. */
  readonly signals: readonly DecodedSignal[];
  readonly selectors: Readonly<Record<string, number>>;
  readonly counters: Readonly<Record<string, number>>;
  readonly checksums: readonly DecodedChecksum[];
  /** Signals of this page that the frame is too short for. */
  readonly tooShort: readonly string[];
}

export interface CompiledGuard<Rule> {
  readonly rule: Rule;
  readonly present: PageTest;
  readonly raw: (payload: Uint8Array, offset: number) => RawValue;
}

interface CompiledChecksum extends CompiledGuard<MapChecksum> {
  readonly compute: ChecksumFunction | null;
}

export interface CompiledFrame {
  readonly frame: MapFrame;
  readonly signals: readonly CompiledSignal[];
  readonly selectors: readonly CompiledGuard<MapSelector>[];
  readonly counters: readonly CompiledGuard<MapCounter>[];
  readonly checksums: readonly CompiledChecksum[];
  decode(payload: Uint8Array, length?: number, offset?: number): DecodedFrame;
}

/** On its page, and every bit inside the frame: a field that runs off the front is never there. */
function both(page: PageTest, placement: Placement): PageTest {
  if (!fitsIn(placement, PAYLOAD_BYTES_MAX)) return () => false;
  const needed = bytesNeeded(placement);
  return (payload, offset, length) => length >= needed && page(payload, offset, length);
}

function compileStates(states: MapSignal['states']): (raw: RawValue) => string | null {
  if (Object.keys(states).length === 0) return () => null;
  const names = new Map(Object.entries(states));
  return (raw) => names.get(String(raw)) ?? null;
}

function compileInvalid(invalid: MapSignal['invalid']): (raw: RawValue) => string | null {
  if (invalid.length === 0) return () => null;
  const ranges = invalid.map(({ from, to, meaning }) => ({ from: bigOf(from), to: bigOf(to), meaning }));
  // An empty meaning must still say that the value is none.
  const named = ranges.map((range) => ({ ...range, meaning: range.meaning || 'invalid' }));
  if (named.every(({ to }) => to <= BigInt(Number.MAX_SAFE_INTEGER))) {
    const small = named.map(({ from, to, meaning }) => ({ from: Number(from), to: Number(to), meaning }));
    return (raw) => small.find(({ from, to }) => raw >= from && raw <= to)?.meaning ?? null;
  }
  return (raw) => named.find(({ from, to }) => raw >= from && raw <= to)?.meaning ?? null;
}

function compileSignalText(signal: MapSignal, bits: number): (raw: RawValue) => string | null {
  if (signal.coding !== 'text') return () => null;
  return (raw) => textOf(raw, bits, signal.order);
}

const NO_NUMBER: Readonly<Record<Coding, string>> = {
  unsigned: 'outside the table',
  signed: 'outside the table',
  'sign-magnitude': 'outside the table',
  float: 'not a number',
  bcd: 'not a decimal digit',
  text: '',
};

/** Compiles one signal; `selectors` are those of its frame. */
function compileSignal(signal: MapSignal, selectors: readonly MapSelector[]): CompiledSignal {
  const bits = placementLength(signal);
  const coded = compileCoding(signal.coding, bits);
  const { toPhysical } = scalingOf(signal);
  const declared = compileInvalid(signal.invalid);
  const isNumber = signal.coding !== 'text';
  const invalidOf = (raw: RawValue): string | null => {
    const meaning = declared(raw);
    if (meaning !== null || !isNumber) return meaning;
    const value = coded(raw);
    if (Number.isNaN(value)) return NO_NUMBER[signal.coding];
    return Number.isNaN(toPhysical(value)) ? 'outside the table' : null;
  };
  const hasInvalid = signal.invalid.length > 0;
  return {
    signal,
    bits,
    present: both(compileWhen(signal.when, selectors), signal),
    raw: compileReader(signal),
    coded,
    physicalOf: hasInvalid
      ? (raw) => (declared(raw) === null ? toPhysical(coded(raw)) : Number.NaN)
      : (raw) => toPhysical(coded(raw)),
    textOf: compileSignalText(signal, bits),
    stateOf: compileStates(signal.states),
    invalidOf,
  };
}

export function compileGuard<Rule extends MapCounter | MapSelector | MapChecksum>(
  rule: Rule,
  selectors: readonly MapSelector[],
): CompiledGuard<Rule> {
  return {
    rule,
    present: both(compileWhen(rule.when, selectors), rule),
    raw: compileReader(rule),
  };
}

function decodeSignal(compiled: CompiledSignal, payload: Uint8Array, offset: number): DecodedSignal {
  const raw = compiled.raw(payload, offset);
  const invalid = compiled.invalidOf(raw);
  return {
    name: compiled.signal.name,
    raw: writtenRaw(raw),
    coded: compiled.coded(raw),
    physical: invalid === null ? compiled.physicalOf(raw) : Number.NaN,
    text: compiled.textOf(raw),
    state: compiled.stateOf(raw),
    invalid,
  };
}

/** Compiles a frame's layout. Cheap enough for each screen, not for each frame. */
export function compileFrame(frame: MapFrame): CompiledFrame {
  const signals = frame.signals.map((signal) => compileSignal(signal, frame.selectors));
  const pages = frame.signals.map((signal) => compileWhen(signal.when, frame.selectors));
  const selectors = frame.selectors.map((selector) => compileGuard(selector, frame.selectors));
  const counters = frame.counters.map((counter) => compileGuard(counter, frame.selectors));
  const checksums = frame.checksums.map((checksum) => ({
    ...compileGuard(checksum, frame.selectors),
    compute: compileChecksum(checksum, frame),
  }));
  const decode = (payload: Uint8Array, length = payload.length, offset = 0): DecodedFrame => {
    const present = <G extends { present: PageTest }>(guards: readonly G[]): G[] =>
      guards.filter((guard) => guard.present(payload, offset, length));
    const valuesOf = (guards: readonly CompiledGuard<MapCounter | MapSelector>[]): Record<string, number> =>
      Object.fromEntries(present(guards).map((guard) => [guard.rule.name, Number(guard.raw(payload, offset))]));
    return {
      signals: present(signals).map((signal) => decodeSignal(signal, payload, offset)),
      selectors: valuesOf(selectors),
      counters: valuesOf(counters),
      checksums: present(checksums).map((checksum) => decodeChecksum(checksum, payload, offset, length)),
      tooShort: frame.signals
        .filter((signal, i) => length < bytesNeeded(signal) && (pages[i] as PageTest)(payload, offset, length))
        .map((signal) => signal.name),
    };
  };
  return { frame, signals, selectors, counters, checksums, decode };
}

function decodeChecksum(
  checksum: CompiledChecksum,
  payload: Uint8Array,
  offset: number,
  length: number,
): DecodedChecksum {
  const stored = checksum.raw(payload, offset);
  const computed = checksum.compute?.(payload, offset, length);
  if (computed === undefined || Number.isNaN(computed))
    return { stored: writtenRaw(stored), computed: null, holds: null };
  return { stored: writtenRaw(stored), computed: writtenRaw(computed), holds: sameValue(stored, computed) };
}
