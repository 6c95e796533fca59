/** What the driver has to print, worked out by the program's own codec; and what decoding gives, for vectors made by hand. */
import { compileEncoder, type CompiledEncoder, type GivenValue } from '../../../src/map/encode.ts';
import { whyNotSet } from '../../../src/handover/encode-choice.ts';
import { bitPositions, type Placement } from '../../../src/frames/bits.ts';
import type { DecodedFrame } from '../../../src/map/decode.ts';
import { parsePayload, type RawValue } from '../../../src/map/raw-values.ts';
import type { MapFrame, MapSignal } from '../../../src/map/schema.ts';
import type { Vector } from './map-case.ts';

export interface MemberShape {
  readonly type: string;
  readonly text: boolean;
}

export const hexOf = (bytes: Uint8Array): string =>
  [...bytes].map((byte) => byte.toString(16).toUpperCase().padStart(2, '0')).join('');

const word = (bits: bigint): string => bits.toString(16).toUpperCase().padStart(16, '0');
const view = new DataView(new ArrayBuffer(8));
function doubleBits(value: number): string {
  view.setFloat64(0, value);
  return word(view.getBigUint64(0));
}

/** null where the rule cannot be computed for this frame. */
const bigOrNone = (value: RawValue | undefined): bigint | null =>
  value === undefined || Number.isNaN(Number(value)) ? null : BigInt(value);

/** The characters of a text in payload order, with the zeros that pad it. */
function textBytes(signal: MapSignal, payload: Uint8Array): string {
  const positions = bitPositions(signal as Placement);
  const bytes = Array.from({ length: positions.length / 8 }, (_, i) =>
    positions
      .slice(8 * i, 8 * i + 8)
      .reduce((byte, at, bit) => byte | ((((payload[at >> 3] as number) >> (at & 7)) & 1) << bit), 0),
  );
  return hexOf(Uint8Array.from(signal.order === 'little' ? bytes : bytes.reverse()));
}

export interface Expected {
  readonly checksumsHold: boolean;
  /** "valid:value" a member; the value is empty where there is none, as the struct's then says nothing. */
  readonly members: readonly string[];
  readonly encodes: boolean;
  /** What encoding gives: the payload that the struct was filled from. */
  readonly payload: string;
}

export class FrameExpectation {
  readonly encoder: CompiledEncoder;
  private readonly rest: Uint8Array;
  constructor(
    readonly frame: MapFrame,
    readonly shapes: readonly MemberShape[],
    private readonly released: ReadonlySet<string>,
  ) {
    this.encoder = compileEncoder(frame);
    this.rest = parsePayload(frame.rest?.payload ?? '') ?? new Uint8Array(frame.length);
  }

  /** A frame whose checksum is wrong changes nothing: the struct stays as `init` left it, with the payload at rest. */
  of(payload: Uint8Array): Expected {
    const checksumsHold = this.checksumsHold(payload);
    const kept = checksumsHold ? payload : this.rest;
    const decoded = this.encoder.compiled.decode(kept);
    return {
      checksumsHold,
      members: this.membersOf(decoded, kept),
      encodes: this.encodes(decoded, kept),
      payload: hexOf(kept),
    };
  }

  /** Of those on this page that have a rule: a keyed tag or an unsolved checksum is not judged. */
  private checksumsHold(payload: Uint8Array): boolean {
    return this.encoder.compiled.checksums
      .filter(({ present, compute }) => compute !== null && present(payload, 0, payload.length))
      .every(({ raw, compute }) => BigInt(raw(payload, 0)) === bigOrNone(compute?.(payload, 0, payload.length)));
  }

  private membersOf(decoded: DecodedFrame, payload: Uint8Array): string[] {
    const byName = new Map(decoded.signals.map((signal) => [signal.name, signal]));
    return this.frame.signals.map((signal, i) => {
      const { type, text } = this.shapes[i] as MemberShape;
      const found = byName.get(signal.name);
      if (!found) return '0:';
      if (found.invalid !== null) return '2:';
      if (text) return `1:${textBytes(signal, payload)}`;
      return `1:${type === 'double' ? doubleBits(found.physical) : word(BigInt(found.raw))}`;
    });
  }

  /** Whether every value decoded may be sent again: one beyond what the map allows, as an endless float is, may not. */
  private encodes(decoded: DecodedFrame, payload: Uint8Array): boolean {
    const given: Record<string, GivenValue> = {};
    for (const { name, physical, invalid } of decoded.signals) {
      const signal = this.frame.signals.find((each) => each.name === name) as MapSignal;
      if (invalid === null && whyNotSet(this.frame, signal, this.released) === null) given[name] = physical;
    }
    const { counters } = decoded;
    return this.encoder.encode(given, { base: payload, ranges: 'observed', counters }).ok;
  }
}

/** A decoded frame in the shape of a vector. */
export function vectorOf(index: number, payload: string, decoded: DecodedFrame): Required<Vector> {
  const values = decoded.signals.map(({ name, physical, text, invalid }) => [
    name,
    invalid === null ? (text ?? physical) : null,
  ]);
  return {
    index,
    payload,
    values: Object.fromEntries(values) as Vector['values'],
    counters: { ...decoded.counters },
    holds: decoded.checksums.map(({ holds }) => holds === true),
  };
}
