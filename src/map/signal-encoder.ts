/** One signal's value on its way into the payload: physical number, state name, text, or raw. */
import type { Problem } from '../kit/outcome.ts';
import { rawOfCoded, rawOfText } from './coding.ts';
import type { CompiledSignal } from './decode.ts';
import { knownCodedRange, knownRange, namedStates, physicalLimits, type RangeChoice } from './limits.ts';
import { bigOf, compileWriter, NUMBER_BITS, type RawValue } from './raw-values.ts';
import { scalingOf } from './scaling.ts';

/** A physical number, a state's name or a text, or a raw value (hex string or bigint beyond 2^53). */
export type GivenValue = number | string | { readonly raw: number | string | bigint };

export interface SignalEncoder {
  readonly compiled: CompiledSignal;
  /** The raw value nearest to a physical number, of a state's name or a text; null where the bits cannot hold it. */
  rawOf(value: number | string): RawValue | null;
  /** Unchecked and fast: writes a raw value of the signal's width. */
  write(raw: RawValue, payload: Uint8Array, offset: number): void;
  /** Writes a physical number; false, and nothing written, where the bits cannot hold it. For many frames. */
  writePhysical(physical: number, payload: Uint8Array, offset: number): boolean;
  /** Checks and writes. @returns the problem, or null when written. */
  set(value: GivenValue, payload: Uint8Array, offset: number, ranges: 'width' | RangeChoice): Problem | null;
}

function rawOfState(compiled: CompiledSignal, name: string): RawValue | null {
  const found = Object.entries(compiled.signal.states).find(([, state]) => state === name);
  return found ? givenRaw(found[0], compiled.bits) : null;
}

function givenRaw(raw: number | string | bigint, bits: number): RawValue | null {
  if (typeof raw === 'number' && !Number.isSafeInteger(raw)) return null;
  if (typeof raw === 'string' && !/^(0x[0-9a-fA-F]+|[0-9]+)$/.test(raw)) return null;
  const value = bigOf(raw);
  if (value < 0n || value >= 1n << BigInt(bits)) return null;
  return bits <= NUMBER_BITS ? Number(value) : value;
}

/** Whether a raw value is within the known range, or has a state's name; null where nothing is known. */
function compileRangeTest(compiled: CompiledSignal, choice: RangeChoice): ((raw: RawValue) => boolean) | null {
  const { signal } = compiled;
  if (signal.coding === 'text') return () => true;
  const states = new Set(namedStates(signal));
  const range = knownCodedRange(signal, choice);
  if (!range && signal.kind === 'flag' && states.size === 0) return (raw) => raw === 0 || raw === 1;
  if (!range && states.size === 0) return null;
  return (raw) => {
    if (states.has(Number(raw))) return true;
    const coded = compiled.coded(raw);
    return range !== null && coded >= range.min && coded <= range.max;
  };
}

function describeLimits(compiled: CompiledSignal, ranges: 'width' | RangeChoice): string {
  const { signal } = compiled;
  const limits = ranges === 'width' ? physicalLimits(signal) : knownRange(signal, ranges);
  if (limits) return `Use ${limits.min} to ${limits.max}${signal.unit ? ` ${signal.unit}` : ''}.`;
  if (signal.coding === 'text') return `Use at most ${Math.floor(compiled.bits / 8)} characters of one byte each.`;
  return 'Use a value that the map names.';
}

export function compileSignalEncoder(compiled: CompiledSignal): SignalEncoder {
  const { signal, bits } = compiled;
  const { toCoded } = scalingOf(signal);
  const write = compileWriter(signal);
  const rangeTests = {
    observed: compileRangeTest(compiled, 'observed'),
    allowed: compileRangeTest(compiled, 'allowed'),
  };
  const rawOfNumber = (physical: number): RawValue | null => rawOfCoded(toCoded(physical), signal.coding, bits);
  const rawOf = (value: number | string): RawValue | null => {
    if (typeof value === 'number') return rawOfNumber(value);
    return rawOfState(compiled, value) ?? (signal.coding === 'text' ? rawOfText(value, bits, signal.order) : null);
  };
  const fail = (code: string, message: string, advice: string): Problem => ({ code, message, advice });
  const rangeFailure = (raw: RawValue, shown: string, choice: RangeChoice): Problem | null => {
    const inRange = rangeTests[choice];
    if (!inRange) {
      const advice = 'Write `allowed` into the map once you know what the part takes.';
      return fail('range-unknown', `nothing is known of the range of ${signal.name}`, advice);
    }
    if (inRange(raw)) return null;
    const word = choice === 'observed' ? 'was never seen' : 'is not allowed';
    return fail(`beyond-${choice}`, `${signal.name} at ${shown} ${word}`, describeLimits(compiled, choice));
  };
  return {
    compiled,
    rawOf,
    write,
    writePhysical(physical, payload, offset) {
      const raw = rawOfNumber(physical);
      if (raw === null) return false;
      write(raw, payload, offset);
      return true;
    },
    set(value, payload, offset, ranges) {
      const isRaw = typeof value === 'object';
      const raw = isRaw ? givenRaw(value.raw, bits) : rawOf(value);
      const shown = isRaw ? `raw ${String(value.raw)}` : String(value);
      if (raw === null) {
        return fail('out-of-range', `${signal.name} cannot hold ${shown}`, describeLimits(compiled, ranges));
      }
      // A raw value, or a state by its name, may well be one that means "no value"; a number may not.
      const meaning = typeof value === 'number' ? compiled.invalidOf(raw) : null;
      if (meaning)
        return fail('means-invalid', `${signal.name} at ${shown} would read as "${meaning}"`, 'Use another value.');
      const failure = ranges === 'width' ? null : rangeFailure(raw, shown, ranges);
      if (failure) return failure;
      write(raw, payload, offset);
      return null;
    },
  };
}
