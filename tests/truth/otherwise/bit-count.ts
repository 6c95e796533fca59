/**
 * Bits of a frame on the wire (ISO 11898-1), counted bit by bit without building them: stuff bits and check sequence in one pass,
 * quick enough for every frame of a long recording. Written apart from the project's own count, which the tests hold against it.
 */
/** Bits after the check sequence that are never stuffed: delimiter, acknowledge, its delimiter, end of frame 7, between frames 3. */
const TAIL = 13;
export const BETWEEN_FRAMES = 3;

let crc = 0;
let run = 0;
let level = -1;
let bits = 0;

function put(bit: number, inCheck: boolean): void {
  if (!inCheck) {
    const feed = bit ^ (crc >> 14);
    crc = (crc << 1) & 0x7fff;
    if (feed) crc ^= 0x4599;
  }
  bits++;
  run = bit === level ? run + 1 : 1;
  level = bit;
  if (run === 5) {
    bits++;
    level = 1 - bit;
    run = 1;
  }
}

function putAll(value: number, count: number): void {
  for (let bit = count - 1; bit >= 0; bit--) put((value >>> bit) & 1, false);
}

/** A classical data frame, the three bits between frames included. */
export function classicalFrameBits(id: number, extended: boolean, payload: Uint8Array): number {
  crc = 0;
  run = 0;
  level = -1;
  bits = 0;
  put(0, false);
  if (extended) {
    putAll(id >>> 18, 11);
    putAll(3, 2);
    putAll(id & 0x3ffff, 18);
    putAll(0, 3);
  } else {
    putAll(id, 11);
    putAll(0, 3);
  }
  putAll(payload.length, 4);
  for (const byte of payload) putAll(byte, 8);
  const check = crc;
  for (let bit = 14; bit >= 0; bit--) put((check >> bit) & 1, true);
  return bits + TAIL;
}

/** Lower wins the arbitration: base identifiers first, then the base format before the extended, then the rest. */
export const arbitrationRank = (id: number, extended: boolean): number =>
  extended ? (id >>> 18) * 2 ** 20 + 2 ** 19 + (id & 0x3ffff) : id * 2 ** 20;
