/** Where an instant or a distance lies on the circle of a period. */

/** How far a value is from the nearest multiple of a period, signed: -period / 2 .. period / 2, in the unit of both. */
export const wrapped = (value: number, period: number): number => value - period * Math.round(value / period);
