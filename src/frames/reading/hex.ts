/** Hex digits by byte value: the digit, or -1. */
export const HEX = new Int8Array(256).fill(-1);
for (let digit = 0; digit < 10; digit++) HEX[48 + digit] = digit;
for (let digit = 10; digit < 16; digit++) HEX[55 + digit] = HEX[87 + digit] = digit;

/** The lengths a CAN FD frame may have (ISO 11898-1). */
export const isFdLength = (length: number): boolean =>
  length <= 8 ||
  length === 12 ||
  length === 16 ||
  length === 20 ||
  length === 24 ||
  length === 32 ||
  length === 48 ||
  length === 64;

/** Payload bytes by length code (ISO 11898-1); a classical frame with a code of 9 to 15 holds 8. */
export const DLC_BYTES: readonly number[] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 12, 16, 20, 24, 32, 48, 64];
