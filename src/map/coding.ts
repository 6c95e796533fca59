/**
 * From an unsigned raw value to the number it stands for and back, for every coding and width:
 * two's complement, sign and magnitude, IEEE 754 binary32 and binary64, packed decimal, text.
 * Text is one character a byte (ISO 8859-1), in payload order: least significant byte first for
 * order "little", most significant first for "big"; trailing NUL bytes are padding.
 */
import { codedValue, type ByteOrder, type Coding } from '../frames/bits.ts';
import { NUMBER_BITS, type RawValue } from './raw-values.ts';

const view = new DataView(new ArrayBuffer(8));

function float64Of(raw: RawValue): number {
  view.setBigUint64(0, BigInt(raw));
  return view.getFloat64(0);
}

function decimalOf(raw: bigint): number {
  const digits = raw.toString(16);
  return /^[0-9]+$/.test(digits) ? Number(digits) : Number.NaN;
}

function wideCodedValue(raw: bigint, coding: Coding, length: number): number {
  const top = 1n << BigInt(length - 1);
  switch (coding) {
    case 'unsigned':
      return Number(raw);
    case 'signed':
      return Number(BigInt.asIntN(length, raw));
    case 'sign-magnitude':
      return raw >= top ? -Number(raw - top) : Number(raw);
    case 'float':
      return length === 64 ? float64Of(raw) : Number.NaN;
    case 'bcd':
      return decimalOf(raw);
    case 'text':
      return Number.NaN;
  }
}

/** The number a raw value stands for; NaN for text, packed digits above 9 and floats that are not numbers. */
export function compileCoding(coding: Coding, length: number): (raw: RawValue) => number {
  if (length > NUMBER_BITS) return (raw) => wideCodedValue(BigInt(raw), coding, length);
  return (raw) => codedValue(raw as number, coding, length);
}

export interface CodedLimits {
  readonly min: number;
  readonly max: number;
}

/** The least and greatest number that a coding can hold in `length` bits; null for text. */
export function codedLimits(coding: Coding, length: number): CodedLimits | null {
  const half = 2 ** (length - 1);
  switch (coding) {
    case 'unsigned':
      return { min: 0, max: 2 ** length - 1 };
    case 'signed':
      return { min: -half, max: half - 1 };
    case 'sign-magnitude':
      return { min: -(half - 1), max: half - 1 };
    case 'bcd':
      return { min: 0, max: 2 ** (length % 4) * 10 ** Math.floor(length / 4) - 1 };
    case 'float': {
      const max = length === 32 ? 3.4028234663852886e38 : Number.MAX_VALUE;
      return { min: -max, max };
    }
    case 'text':
      return null;
  }
}

function rawOfFloat(value: number, length: number): RawValue | null {
  if (length === 64) {
    view.setFloat64(0, value);
    return view.getBigUint64(0);
  }
  if (length !== 32 || (Number.isFinite(value) && !Number.isFinite(Math.fround(value)))) return null;
  view.setFloat32(0, value);
  return view.getUint32(0);
}

function narrowRawOfCoded(whole: number, negativeZero: boolean, coding: Coding, length: number): number | null {
  const limits = codedLimits(coding, length);
  if (!limits || !(whole >= limits.min && whole <= limits.max)) return null;
  if (coding === 'bcd') return Number('0x' + whole.toString());
  if (coding === 'sign-magnitude') return whole < 0 || negativeZero ? 2 ** (length - 1) - whole : whole;
  return whole < 0 ? whole + 2 ** length : whole;
}

function wideRawOfCoded(whole: bigint, negativeZero: boolean, coding: Coding, length: number): bigint | null {
  const top = 1n << BigInt(length - 1);
  const all = top << 1n;
  switch (coding) {
    case 'signed':
      return whole >= -top && whole < top ? BigInt.asUintN(length, whole) : null;
    case 'sign-magnitude':
      if (whole <= -top || whole >= top) return null;
      return whole < 0n || negativeZero ? top - whole : whole;
    case 'bcd': {
      const raw = whole < 0n ? all : BigInt('0x' + whole.toString());
      return raw < all ? raw : null;
    }
    default:
      return whole >= 0n && whole < all ? whole : null;
  }
}

/**
 * The unsigned raw value that stands for a number, a number between two raw values going to the nearer one.
 * Null where the coding cannot hold it in `length` bits: nothing ever wraps.
 */
export function rawOfCoded(value: number, coding: Coding, length: number): RawValue | null {
  if (Number.isNaN(value)) return null;
  if (coding === 'float') return rawOfFloat(value, length);
  const rounded = Math.round(value);
  if (coding === 'text' || !Number.isFinite(rounded)) return null;
  const negativeZero = Object.is(value, -0);
  if (length <= NUMBER_BITS) return narrowRawOfCoded(rounded === 0 ? 0 : rounded, negativeZero, coding, length);
  return wideRawOfCoded(BigInt(rounded), negativeZero, coding, length);
}

/** The bytes of a raw value, most significant first. */
function bytesOf(raw: bigint, length: number): number[] {
  const hex = raw.toString(16).padStart(Math.ceil(length / 8) * 2, '0');
  return Array.from({ length: hex.length / 2 }, (_, i) => Number.parseInt(hex.slice(2 * i, 2 * i + 2), 16));
}

/** The text that a raw value holds. */
export function textOf(raw: RawValue, length: number, order: ByteOrder): string {
  const bytes = bytesOf(BigInt(raw), length);
  if (order === 'little') bytes.reverse();
  const end = bytes.findLastIndex((byte) => byte !== 0) + 1;
  return String.fromCharCode(...bytes.slice(0, end));
}

/** The raw value that holds a text; null where it is too long or has a character that one byte cannot hold. */
export function rawOfText(text: string, length: number, order: ByteOrder): bigint | null {
  const count = Math.floor(length / 8);
  const codes = Array.from({ length: text.length }, (_, i) => text.charCodeAt(i));
  if (codes.length > count || codes.some((code) => code > 255)) return null;
  const bytes = [...codes, ...new Array<number>(count - codes.length).fill(0)];
  if (order === 'little') bytes.reverse();
  return bytes.reduce((raw, byte) => (raw << 8n) | BigInt(byte), 0n);
}
