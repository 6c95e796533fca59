/**
 * What a map says of one payload, by the slow codec: pages, lengths, codings, names of states and codes for "no value" read again from
 * docs/signal-map.md, sharing nothing with src/ but the types of the map.
 */
import type { MapFrame, MapSignal, When } from '../../src/map/schema.ts';
import { slowBits, slowCoded, slowPhysical, slowText, type SlowField } from './slow-codec.ts';

export interface SlowValue {
  readonly signal: MapSignal;
  /** NaN where there is none. */
  readonly physical: number;
  readonly text: string | null;
  readonly raw: bigint;
  /** Why there is no value; null where there is one or the signal is a text. */
  readonly invalid: string | null;
}

/** Whether each bit of a field lies in a payload of so many bytes. */
function isInside(field: SlowField, bytes: number): boolean {
  return [field, ...(field.continues ?? [])].every(({ lsb, length, order }) => {
    const first = order === 'little' ? lsb.byte : lsb.byte - Math.ceil((length - (8 - lsb.bit)) / 8);
    const last = order === 'little' ? Math.floor((lsb.byte * 8 + lsb.bit + length - 1) / 8) : lsb.byte;
    return first >= 0 && last < bytes;
  });
}

const rawOf = (field: SlowField, payload: Uint8Array): bigint => BigInt('0b' + slowBits(field, payload));

function isOn(when: When | undefined, frame: MapFrame, payload: Uint8Array): boolean {
  return Object.entries(when ?? {}).every(([name, values]) => {
    const selector = frame.selectors.find((each) => each.name === name);
    if (!selector || !isOn(selector.when, frame, payload) || !isInside(selector as SlowField, payload.length))
      return false;
    return values.some((value) => BigInt(value) === rawOf(selector as SlowField, payload));
  });
}

function whyNone(signal: MapSignal, raw: bigint, bits: string, physical: number): string | null {
  const told = signal.invalid.find(({ from, to }) => raw >= BigInt(from) && raw <= BigInt(to));
  if (told) return told.meaning || 'invalid';
  if (signal.coding === 'text' || !Number.isNaN(physical)) return null;
  if (!Number.isNaN(slowCoded(bits, signal.coding))) return 'outside the table';
  return signal.coding === 'bcd' ? 'not a decimal digit' : 'not a number';
}

/** Every signal that is on, in the map's order. */
export function slowValues(frame: MapFrame, payload: Uint8Array): SlowValue[] {
  return frame.signals
    .filter((signal) => isOn(signal.when, frame, payload) && isInside(signal as SlowField, payload.length))
    .map((signal) => {
      const bits = slowBits(signal as SlowField, payload);
      const raw = BigInt('0b' + bits);
      const physical = slowPhysical(signal as never, payload);
      const invalid = whyNone(signal, raw, bits, physical);
      const text = signal.coding === 'text' ? slowText(signal as never, payload) : null;
      return {
        signal,
        physical: invalid === null ? physical : Number.NaN,
        text: signal.states[String(raw)] ?? text,
        raw,
        invalid,
      };
    });
}
