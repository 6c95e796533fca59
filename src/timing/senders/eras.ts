/** Equal parts of a capture that are counted apart: two clocks pass each other from one to another, one task's frames keep together in all. */

export const ERAS = 8;

/** Which part an instant is in; a frame that began before the origin is in the first. */
export const eraOf = (us: number, endUs: number): number =>
  Math.max(0, Math.min(ERAS - 1, Math.floor((us / endUs) * ERAS)));
