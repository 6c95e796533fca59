/**
 * A second codec, written independently of src/: payloads as strings of '0' and '1', fields as pieces of such
 * strings. Slow on purpose and sharing no code with the fast one; it only takes the contract's plain shapes.
 */
export interface SlowPiece {
  readonly lsb: { readonly byte: number; readonly bit: number };
  readonly length: number;
  readonly order: 'little' | 'big';
}
export interface SlowField extends SlowPiece {
  readonly continues?: readonly SlowPiece[] | undefined;
}
export interface SlowSignal extends SlowField {
  readonly coding: string;
  readonly scale: number;
  readonly offset: number;
  readonly table: readonly (readonly [number, number])[] | null;
}

const eight = (byte: number): string => byte.toString(2).padStart(8, '0');

/** All bits with the last byte first: a little field is a plain substring of it. */
const downward = (payload: Uint8Array): string => [...payload].reverse().map(eight).join('');
/** All bits with the first byte first: a big field is a plain substring of it. */
const upward = (payload: Uint8Array): string => [...payload].map(eight).join('');

function span(piece: SlowPiece, bits: number): { from: number; to: number } {
  const { byte, bit } = piece.lsb;
  const to = piece.order === 'little' ? bits - (byte * 8 + bit) : byte * 8 + (8 - bit);
  return { from: to - piece.length, to };
}

function pieceBits(piece: SlowPiece, payload: Uint8Array): string {
  const line = piece.order === 'little' ? downward(payload) : upward(payload);
  const { from, to } = span(piece, line.length);
  return line.slice(from, to);
}

/** A field's bits, most significant first. */
export function slowBits(field: SlowField, payload: Uint8Array): string {
  return [field, ...(field.continues ?? [])].reduceRight((text, piece) => text + pieceBits(piece, payload), '');
}

function withPiece(piece: SlowPiece, bits: string, payload: Uint8Array): Uint8Array {
  const line = piece.order === 'little' ? downward(payload) : upward(payload);
  const { from, to } = span(piece, line.length);
  const changed = line.slice(0, from) + bits + line.slice(to);
  const bytes = changed.match(/.{8}/g) ?? [];
  const out = bytes.map((text) => Number.parseInt(text, 2));
  return Uint8Array.from(piece.order === 'little' ? out.reverse() : out);
}

/** A copy of the payload with the field's bits (most significant first) replaced. */
export function slowWrite(field: SlowField, bits: string, payload: Uint8Array): Uint8Array {
  let rest = bits;
  let out = payload;
  for (const piece of [field, ...(field.continues ?? [])]) {
    out = withPiece(piece, rest.slice(rest.length - piece.length), out);
    rest = rest.slice(0, rest.length - piece.length);
  }
  return out;
}

const powerOfTwo = (bits: string): bigint => BigInt('0b1' + '0'.repeat(bits.length));

/** IEEE 754 taken apart by hand: sign, biased exponent, fraction. The map knows no other lengths than 32 and 64. */
function slowFloat(bits: string): number {
  if (bits.length !== 32 && bits.length !== 64) return Number.NaN;
  const exponentBits = bits.length === 32 ? 8 : 11;
  const fractionBits = bits.length - 1 - exponentBits;
  const bias = 2 ** (exponentBits - 1) - 1;
  const sign = bits[0] === '1' ? -1 : 1;
  const exponent = Number.parseInt(bits.slice(1, 1 + exponentBits), 2);
  const fraction = Number(BigInt('0b' + bits.slice(1 + exponentBits)));
  if (exponent === 2 ** exponentBits - 1) return fraction ? Number.NaN : sign * Infinity;
  if (exponent === 0) return sign * fraction * 2 ** (1 - bias - fractionBits);
  return sign * (1 + fraction / 2 ** fractionBits) * 2 ** (exponent - bias);
}

function slowDecimal(bits: string): number {
  const padded = bits.padStart(Math.ceil(bits.length / 4) * 4, '0');
  const digits = (padded.match(/.{4}/g) ?? []).map((four) => Number.parseInt(four, 2));
  return digits.some((digit) => digit > 9) ? Number.NaN : Number(digits.join(''));
}

/** The number that a field's bits stand for; NaN for text. */
export function slowCoded(bits: string, coding: string): number {
  const unsigned = BigInt('0b' + bits);
  switch (coding) {
    case 'unsigned':
      return Number(unsigned);
    case 'signed':
      return Number(bits[0] === '1' ? unsigned - powerOfTwo(bits) : unsigned);
    case 'sign-magnitude':
      return (bits[0] === '1' ? -1 : 1) * (bits.length > 1 ? Number(BigInt('0b' + bits.slice(1))) : 0);
    case 'float':
      return slowFloat(bits);
    case 'bcd':
      return slowDecimal(bits);
    default:
      return Number.NaN;
  }
}

function slowTable(points: readonly (readonly [number, number])[], x: number): number {
  for (let i = 0; i + 1 < points.length; i++) {
    const [[x0, y0], [x1, y1]] = [points[i] as [number, number], points[i + 1] as [number, number]];
    if (x >= x0 && x <= x1) return y0 + ((y1 - y0) / (x1 - x0)) * (x - x0);
  }
  return Number.NaN;
}

/** Physical value of a signal; NaN where it has none. */
export function slowPhysical(signal: SlowSignal, payload: Uint8Array): number {
  const coded = slowCoded(slowBits(signal, payload), signal.coding);
  return signal.table ? slowTable(signal.table, coded) : coded * signal.scale + signal.offset;
}

/** The characters of a text field without trailing NUL padding. */
export function slowText(signal: SlowSignal, payload: Uint8Array): string {
  const chars = (slowBits(signal, payload).match(/.{8}/g) ?? []).map((byte) =>
    String.fromCharCode(Number.parseInt(byte, 2)),
  );
  return (signal.order === 'little' ? chars.reverse() : chars).join('').replace(/\0+$/, '');
}

/**
 * CRC by long division of the message as a polynomial over GF(2), bit by bit: the start value is added to the first
 * bits, zeros of the width are appended, and what remains is the check value. At least one byte of message.
 */
export function slowCrc(
  message: readonly number[],
  rule: { width: number; poly: bigint; init: bigint; refin: boolean; refout: boolean; xorout: bigint },
): bigint {
  const flip = (text: string): string => [...text].reverse().join('');
  const input = message.map(eight).map((bits) => (rule.refin ? flip(bits) : bits));
  const bits = [...(input.join('') + '0'.repeat(rule.width))].map(Number);
  const start = [...rule.init.toString(2).padStart(rule.width, '0')].map(Number);
  start.forEach((bit, i) => (bits[i] = (bits[i] as number) ^ bit));
  const divisor = [1, ...[...rule.poly.toString(2).padStart(rule.width, '0')].map(Number)];
  for (let i = 0; i + rule.width < bits.length; i++) {
    if (bits[i]) divisor.forEach((bit, k) => (bits[i + k] = (bits[i + k] as number) ^ bit));
  }
  const remainder = bits.slice(bits.length - rule.width).join('');
  return BigInt('0b' + (rule.refout ? flip(remainder) : remainder)) ^ rule.xorout;
}
