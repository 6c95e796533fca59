/**
 * From physical values to payload bytes. Signals are laid over a base payload (the recorded rest payload
 * unless another is given: never over zeros), then counters, then checksums, inner ones first. A value that does not
 * fit is a problem: nothing wraps and nothing is cut.
 */
import { placementLength, type Placement } from '../frames/bits.ts';
import { bad, good, type Outcome, type Problem } from '../kit/outcome.ts';
import { checksumOrder } from './checksum-order.ts';
import { nextCounterValue } from './counter.ts';
import { compileFrame, type CompiledFrame, type CompiledGuard, type DecodedFrame } from './decode.ts';
import type { RangeChoice } from './limits.ts';
import type { PageTest } from './pages.ts';
import { compileWriter, formatPayload, parsePayload, type RawValue } from './raw-values.ts';
import type { MapCounter, MapFrame, MapSelector } from './schema.ts';
import { compileSignalEncoder, type GivenValue, type SignalEncoder } from './signal-encoder.ts';

export type { GivenValue } from './signal-encoder.ts';
/** By signal name. */
export type GivenValues = Readonly<Record<string, GivenValue>>;

export interface EncodeOptions {
  /** The payload that signals are laid over; default the frame's rest payload. It is copied. */
  readonly base?: Uint8Array;
  /** Raw selector values by name, which choose the page; default those of the base. */
  readonly selectors?: Readonly<Record<string, number>>;
  /** Keep the base's counters (default), step each once, or raw values by name. */
  readonly counters?: 'keep' | 'advance' | Readonly<Record<string, number>>;
  /** Values must fit the bits (`width`, default), or what was observed, or what a person allows. */
  readonly ranges?: 'width' | RangeChoice;
  /** Computed (default), or left as they are in the base. */
  readonly checksums?: 'compute' | 'keep';
}

export interface CompiledEncoder {
  readonly compiled: CompiledFrame;
  /** One signal's own encoder, for callers that write many frames. */
  signal(name: string): SignalEncoder | undefined;
  /** Sets a counter by name to a raw value, unchecked; false where there is none. */
  writeCounter(name: string, raw: RawValue, payload: Uint8Array, offset?: number): boolean;
  /** Sets a selector by name to a raw value, unchecked; false where there is none. */
  writeSelector(name: string, raw: RawValue, payload: Uint8Array, offset?: number): boolean;
  /**
   * Computes every checksum of the page that is on, in place, inner ones first.
   * @returns false where one of them cannot be computed; the others are still written.
   */
  writeChecksums(payload: Uint8Array, offset: number, length: number): boolean;
  encode(values: GivenValues, options?: EncodeOptions): Outcome<Uint8Array>;
}

interface ChecksumWriter {
  readonly present: PageTest;
  readonly compute: CompiledFrame['checksums'][number]['compute'];
  readonly write: ReturnType<typeof compileWriter>;
}

function compileChecksumWriters(compiled: CompiledFrame): readonly ChecksumWriter[] | null {
  const order = checksumOrder(compiled.frame.checksums);
  return (
    order?.map((index) => {
      const checksum = compiled.checksums[index] as CompiledFrame['checksums'][number];
      return { present: checksum.present, compute: checksum.compute, write: compileWriter(checksum.rule) };
    }) ?? null
  );
}

function writeAll(writers: readonly ChecksumWriter[], payload: Uint8Array, offset: number, length: number): boolean {
  let complete = true;
  for (const { present, compute, write } of writers) {
    if (!present(payload, offset, length)) continue;
    const value = compute?.(payload, offset, length);
    if (value === undefined || Number.isNaN(value)) complete = false;
    else write(value, payload, offset);
  }
  return complete;
}

function compileRawWriters(
  guards: readonly CompiledGuard<MapCounter | MapSelector>[],
): CompiledEncoder['writeCounter'] {
  const writers = new Map(guards.map(({ rule }) => [rule.name, compileWriter(rule)]));
  return (name, raw, payload, offset = 0) => {
    const write = writers.get(name);
    write?.(raw, payload, offset);
    return write !== undefined;
  };
}

/** Compiles a frame's encoder once. */
export function compileEncoder(frame: MapFrame): CompiledEncoder {
  const compiled = compileFrame(frame);
  const checksums = compileChecksumWriters(compiled);
  const signals = new Map(compiled.signals.map((signal) => [signal.signal.name, compileSignalEncoder(signal)]));
  const writeChecksums: CompiledEncoder['writeChecksums'] = (payload, offset, length) =>
    checksums !== null && writeAll(checksums, payload, offset, length);
  const encoder: CompiledEncoder = {
    compiled,
    signal: (name) => signals.get(name),
    writeCounter: compileRawWriters(compiled.counters),
    writeSelector: compileRawWriters(compiled.selectors),
    writeChecksums,
    encode: (values, options = {}) => encodeOver(encoder, values, options),
  };
  return encoder;
}

/** One frame, once. For many, compile the encoder and keep it. */
export function encodeFrame(frame: MapFrame, values: GivenValues, options: EncodeOptions = {}): Outcome<Uint8Array> {
  return compileEncoder(frame).encode(values, options);
}

function problem(frame: MapFrame, code: string, message: string, advice: string): Problem {
  return { code, message: `${frame.name} (${frame.id}): ${message}`, advice };
}

function basePayload(frame: MapFrame, options: EncodeOptions): Uint8Array | null {
  if (options.base) return options.base.slice();
  return frame.rest ? parsePayload(frame.rest.payload) : null;
}

function encodeOver(encoder: CompiledEncoder, values: GivenValues, options: EncodeOptions): Outcome<Uint8Array> {
  const { frame } = encoder.compiled;
  const payload = basePayload(frame, options);
  if (!payload) {
    const advice = 'Record the part at rest, or give a base payload: a frame is never built from zeros.';
    return bad(problem(frame, 'no-rest-payload', 'no payload recorded at rest', advice));
  }
  const base = payload.slice();
  const problems = [
    ...setSelectors(encoder, options.selectors ?? {}, payload),
    ...setSignals(encoder, values, payload, options.ranges ?? 'width'),
    ...setCounters(encoder, options.counters ?? 'keep', payload),
  ];
  if (problems.length === 0 && options.checksums !== 'keep') problems.push(...setChecksums(encoder, payload));
  const [first, ...rest] = problems;
  return first ? bad(first, ...rest) : good(payload, undeterminedWarnings(frame, base, payload));
}

function setSelectors(
  { compiled, writeSelector }: CompiledEncoder,
  given: Readonly<Record<string, number>>,
  payload: Uint8Array,
): Problem[] {
  const { frame } = compiled;
  return Object.entries(given).flatMap(([name, raw]) => {
    const selector = compiled.selectors.find(({ rule }) => rule.name === name);
    if (!selector) return [problem(frame, 'unknown-selector', `no selector "${name}"`, 'Use a name of the map.')];
    if (!fitsBits(raw, selector.rule)) {
      return [problem(frame, 'out-of-range', `selector ${name} cannot hold ${raw}`, 'Use a raw value of its width.')];
    }
    writeSelector(name, raw, payload);
    return [];
  });
}

const fitsBits = (raw: number, placement: Placement): boolean =>
  Number.isSafeInteger(raw) && raw >= 0 && raw < 2 ** placementLength(placement);

function setSignals(
  encoder: CompiledEncoder,
  values: GivenValues,
  payload: Uint8Array,
  ranges: 'width' | RangeChoice,
): Problem[] {
  const { frame } = encoder.compiled;
  return Object.entries(values).flatMap(([name, value]) => {
    const signal = encoder.signal(name);
    if (!signal) return [problem(frame, 'unknown-signal', `no signal "${name}"`, 'Use a name of the map.')];
    if (!signal.compiled.present(payload, 0, payload.length)) {
      const advice = 'Choose its page with `selectors`, and a base payload that is long enough.';
      return [problem(frame, 'not-on-page', `${name} is not on the page that is set`, advice)];
    }
    const failure = signal.set(value, payload, 0, ranges);
    return failure ? [problem(frame, failure.code, failure.message, failure.advice ?? '')] : [];
  });
}

function setCounters(
  { compiled, writeCounter }: CompiledEncoder,
  wanted: NonNullable<EncodeOptions['counters']>,
  payload: Uint8Array,
): Problem[] {
  if (wanted === 'keep') return [];
  const { frame } = compiled;
  const known = new Set(frame.counters.map((counter) => counter.name));
  const strangers = wanted === 'advance' ? [] : Object.keys(wanted).filter((name) => !known.has(name));
  const problems = strangers.map((name) =>
    problem(frame, 'unknown-counter', `no counter "${name}"`, 'Use a name of the map.'),
  );
  for (const counter of compiled.counters) {
    if (!counter.present(payload, 0, payload.length)) continue;
    const { name, min, max } = counter.rule;
    const value = wanted === 'advance' ? nextCounterValue(counter.rule, Number(counter.raw(payload, 0))) : wanted[name];
    if (value === undefined) continue;
    if (Number.isInteger(value) && value >= min && value <= max) writeCounter(name, value, payload);
    else problems.push(problem(frame, 'out-of-range', `counter ${name} cannot be ${value}`, `Use ${min} to ${max}.`));
  }
  return problems;
}

function setChecksums(encoder: CompiledEncoder, payload: Uint8Array): Problem[] {
  if (encoder.writeChecksums(payload, 0, payload.length)) return [];
  const { frame, checksums } = encoder.compiled;
  const stuck = checksums.filter(
    ({ present, compute }) =>
      present(payload, 0, payload.length) && Number.isNaN(Number(compute?.(payload, 0, payload.length) ?? Number.NaN)),
  );
  if (stuck.length === 0) {
    const advice = 'Correct `covers`: one of them must come first.';
    return [problem(frame, 'checksum-circle', 'its checksums cover each other', advice)];
  }
  return stuck.map(({ rule }) => {
    const keyed = rule.method === 'mac' || rule.method === 'unsolved';
    const message = `its checksum (${rule.method}) cannot be produced`;
    const advice = keyed
      ? 'Keep the module that makes this frame; it cannot be imitated from a recording.'
      : 'Check the rule, the counter that picks from its tables, and the payload length.';
    return problem(frame, 'cannot-produce-checksum', message, advice);
  });
}

function undeterminedWarnings(frame: MapFrame, base: Uint8Array, payload: Uint8Array): Problem[] {
  return frame.checksums.flatMap((checksum) => {
    const moved = checksum.undetermined.filter(
      ({ byte, bit }) => ((((base[byte] ?? 0) ^ (payload[byte] ?? 0)) >> bit) & 1) === 1,
    );
    if (moved.length === 0) return [];
    const bits = moved.map(({ byte, bit }) => `byte ${byte} bit ${bit}`).join(', ');
    const message = `the recordings do not show how the checksum depends on ${bits}, and this payload changes them`;
    return [problem(frame, 'undetermined-bits', message, `Compare with a recorded frame: ${formatPayload(payload)}.`)];
  });
}

/**
 * A decoded frame as values to encode: physical where that leads back to the same raw value, else raw.
 * Laid over any base of the same page, they give the decoded frame's signals bit for bit.
 */
export function valuesOf(encoder: CompiledEncoder, decoded: DecodedFrame): Record<string, GivenValue> {
  return Object.fromEntries(
    decoded.signals.map((signal) => {
      const physical = signal.text ?? signal.physical;
      const back = encoder.signal(signal.name)?.rawOf(physical);
      const returns = back !== undefined && back !== null && BigInt(back) === BigInt(signal.raw);
      return [signal.name, returns ? physical : { raw: signal.raw }];
    }),
  );
}
