/**
 * Cyclic redundancy checks by the Rocksoft model (Williams 1993): width 1 to 64, polynomial without its
 * top bit, start value, reflected input, reflected output, final XOR. The register is kept left-aligned and never
 * reflected: reflected input is reflected on its way in, which serves every mix of refin and refout.
 */
export interface CrcParameters {
  readonly width: number;
  readonly poly: bigint;
  readonly init: bigint;
  readonly refin: boolean;
  readonly refout: boolean;
  readonly xorout: bigint;
}

/** The same bits the other way round. */
export function reflect(value: bigint, bits: number): bigint {
  let out = 0n;
  for (let i = 0; i < bits; i++) out |= ((value >> BigInt(i)) & 1n) << BigInt(bits - 1 - i);
  return out;
}

/** Up to 32 bits: a register in a number. */
export interface SmallCrc {
  /** Register before the first byte. */
  readonly start: number;
  feed(register: number, byte: number): number;
  /** The check value of a register, below 2^width. */
  finish(register: number): number;
}

const REFLECTED_BYTE = Uint8Array.from({ length: 256 }, (_, byte) => Number(reflect(BigInt(byte), 8)));
const IDENTITY_BYTE = Uint8Array.from({ length: 256 }, (_, byte) => byte);

function smallTable(poly: number): Uint32Array {
  return Uint32Array.from({ length: 256 }, (_, byte) => {
    let register = (byte << 24) >>> 0;
    for (let i = 0; i < 8; i++) register = (register & 0x80000000 ? (register << 1) ^ poly : register << 1) >>> 0;
    return register;
  });
}

function reflect32(value: number): number {
  const byte = (i: number): number => REFLECTED_BYTE[(value >>> (8 * i)) & 0xff] as number;
  return ((byte(0) << 24) | (byte(1) << 16) | (byte(2) << 8) | byte(3)) >>> 0;
}

export function compileSmallCrc(parameters: CrcParameters): SmallCrc {
  const { width, refin, refout } = parameters;
  const shift = 32 - width;
  const align = (value: bigint): number => Number(BigInt.asUintN(32, value << BigInt(shift)));
  const table = smallTable(align(parameters.poly));
  const input = refin ? REFLECTED_BYTE : IDENTITY_BYTE;
  const xorout = Number(BigInt.asUintN(width, parameters.xorout));
  return {
    start: align(parameters.init),
    feed: (register, byte) => ((register << 8) ^ (table[(register >>> 24) ^ (input[byte] as number)] as number)) >>> 0,
    // A left-aligned register read backwards is the reflected value, right-aligned.
    finish: (register) => ((refout ? reflect32(register) : register >>> shift) ^ xorout) >>> 0,
  };
}

/** Any width up to 64, and units other than bytes: bit by bit in bigints. */
export interface WideCrc {
  readonly start: bigint;
  /** Takes `bits` bits of a unit, most significant first, or least significant first where refin. */
  feed(register: bigint, unit: bigint, bits: number): bigint;
  finish(register: bigint): bigint;
}

export function compileWideCrc(parameters: CrcParameters): WideCrc {
  const { width, refin, refout } = parameters;
  const poly = BigInt.asUintN(width, parameters.poly);
  const top = BigInt(width - 1);
  const step = (register: bigint, bit: bigint): bigint => {
    const shifted = BigInt.asUintN(width, register << 1n);
    return ((register >> top) ^ bit) & 1n ? shifted ^ poly : shifted;
  };
  return {
    start: BigInt.asUintN(width, parameters.init),
    feed(register, unit, bits) {
      let out = register;
      for (let i = 0; i < bits; i++) out = step(out, (unit >> BigInt(refin ? i : bits - 1 - i)) & 1n);
      return out;
    },
    finish: (register) => (refout ? reflect(register, width) : register) ^ BigInt.asUintN(width, parameters.xorout),
  };
}
