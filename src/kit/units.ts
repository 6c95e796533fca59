/**
 * Branded units: numbers that can be swapped by mistake carry their meaning in the type. A brand
 * costs nothing at run time; the constructors below are the only places that cast.
 */
declare const brand: unique symbol;
export type Brand<T, Name extends string> = T & { readonly [brand]: Name };

/** An instant: microseconds since the capture's origin (its first frame after time repair). */
export type Micros = Brand<number, 'Micros'>;
/** A duration in microseconds. */
export type MicrosSpan = Brand<number, 'MicrosSpan'>;
/** An instant or duration in seconds, on the capture's clock unless the name says otherwise. */
export type Seconds = Brand<number, 'Seconds'>;
/** A bus identifier: 0..0x7FF (base) or 0..0x1FFFFFFF (extended). */
export type CanId = Brand<number, 'CanId'>;
/** A row of a stream's columns. */
export type FrameIndex = Brand<number, 'FrameIndex'>;
/** byte * 8 + bit, where bit 0 is the least significant bit of its byte. */
export type BitIndex = Brand<number, 'BitIndex'>;

export const micros = (value: number): Micros => value as Micros;
export const microsSpan = (value: number): MicrosSpan => value as MicrosSpan;
export const seconds = (value: number): Seconds => value as Seconds;
export const canId = (value: number): CanId => value as CanId;
export const frameIndex = (value: number): FrameIndex => value as FrameIndex;
export const bitIndex = (value: number): BitIndex => value as BitIndex;

export const MICROS_PER_SECOND = 1e6;
export const toSeconds = (us: number): Seconds => (us / MICROS_PER_SECOND) as Seconds;
export const toMicros = (s: number): Micros => (s * MICROS_PER_SECOND) as Micros;

/** "0x1F4", "0x18FEF100": as the signal map writes identifiers. */
export function formatId(id: number): string {
  return '0x' + id.toString(16).toUpperCase();
}

/** As people read identifiers: three digits for base ones, eight for extended ones. */
export function displayId(id: number, extended: boolean): string {
  return (
    '0x' +
    id
      .toString(16)
      .toUpperCase()
      .padStart(extended ? 8 : 3, '0')
  );
}
