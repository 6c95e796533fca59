/** Arithmetic of whole numbers of any size, that the makers of constants share. */

export const gcd = (a: bigint, b: bigint): bigint => (b === 0n ? a : gcd(b, a % b));

export const absolute = (value: bigint): bigint => (value < 0n ? -value : value);
