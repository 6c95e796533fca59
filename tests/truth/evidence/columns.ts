/**
 * Signals over time on one grid, and what machines do to them: dead time, lags of first and second order, saturation, limited rate,
 * hysteresis, integration. Difference equations as in any textbook of control (Åström and Murray 2008, chapters 2 and 5).
 */

export const STEP_S = 0.005;
/** [steps] one value each `STEP_S`. */
export type Column = Float64Array;

export const stepsOf = (seconds: number): number => Math.ceil(seconds / STEP_S) + 1;
export const blank = (steps: number, value = 0): Column => new Float64Array(steps).fill(value);
export const change = (column: Column, f: (value: number, step: number) => number): Column => column.map(f);

export function combine(a: Column, b: Column, f: (a: number, b: number) => number): Column {
  return a.map((value, step) => f(value, b[step] as number));
}

/** The value that held at a moment; beyond the ends the first and the last. */
export function valueAt(column: Column, timeS: number): number {
  const step = Math.floor(timeS / STEP_S + 1e-9);
  return column[Math.max(0, Math.min(column.length - 1, step))] as number;
}

export function deadTime(column: Column, delayS: number): Column {
  const by = Math.round(delayS / STEP_S);
  return column.map((_, step) => column[Math.max(0, step - by)] as number);
}

/** First order: comes to 63 % of a step after `tauS`. */
export function lag(column: Column, tauS: number): Column {
  const share = 1 - Math.exp(-STEP_S / Math.max(tauS, 1e-4));
  let value = column[0] as number;
  return column.map((goal) => (value += (goal - value) * share));
}

/** Second order, with overshoot where damping is below 1. */
export function swing(column: Column, frequencyHz: number, damping: number): Column {
  const omega = 2 * Math.PI * frequencyHz;
  let value = column[0] as number;
  let rate = 0;
  return column.map((goal) => {
    rate += (omega * omega * (goal - value) - 2 * damping * omega * rate) * STEP_S;
    value += rate * STEP_S;
    return value;
  });
}

export const saturate = (column: Column, low: number, high: number): Column =>
  column.map((value) => Math.max(low, Math.min(high, value)));

/** Units a second, up and down. */
export function limitRate(column: Column, up: number, down: number): Column {
  let value = column[0] as number;
  return column.map((goal) => (value += Math.max(-down * STEP_S, Math.min(up * STEP_S, goal - value))));
}

/** 1 from above `onAt` until below `offAt`. */
export function hysteresis(column: Column, onAt: number, offAt: number): Column {
  let on = 0;
  return column.map((value) => (on = value > onAt ? 1 : value < offAt ? 0 : on));
}

/** A second's worth of 1 adds 1. */
export function integrate(column: Column, start: number): Column {
  let sum = start;
  return column.map((value) => (sum += value * STEP_S));
}

/** Sets a stretch of time to a value; the end is not part of it. */
export function paint(column: Column, fromS: number, toS: number, value: number): void {
  column.fill(value, Math.max(0, Math.round(fromS / STEP_S)), Math.max(0, Math.round(toS / STEP_S)));
}

/** How often something lasts for so long at least. */
export function timesOf(column: Column, is: (value: number, step: number) => boolean, leastS: number): number {
  let [times, steps] = [0, 0];
  column.forEach((value, step) => {
    steps = is(value, step) ? steps + 1 : 0;
    if (steps === Math.ceil(leastS / STEP_S)) times++;
  });
  return times;
}
