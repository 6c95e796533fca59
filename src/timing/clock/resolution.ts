/** What the stamps of a capture are multiples of, in decimals: the coarsest step that nearly all of them keep. */
import type { FrameTable } from '../../frames/table.ts';

const STEPS_US = [
  1e6, 5e5, 2e5, 1e5, 5e4, 2e4, 1e4, 5000, 2000, 1000, 500, 200, 100, 50, 20, 10, 5, 2, 1, 0.1, 0.01, 0.001,
];
const STAMPS_LOOKED_AT = 20_000;
/** A few odd stamps (after a clock jump) do not make a coarse clock fine. */
const MULTIPLES_SHARE = 0.999;

function sampleStamps(table: FrameTable): Float64Array {
  const every = Math.max(1, Math.floor(table.frameCount / STAMPS_LOOKED_AT));
  const stamps: number[] = [];
  for (const stream of table.streams) {
    for (let row = 0; row < stream.count; row += every) stamps.push(stream.timeUs[row] as number);
  }
  return Float64Array.from(stamps);
}

/** Stamps are decimal fractions held as doubles: half a nanosecond is within their rounding. */
const ROUNDING_US = 5e-4;
const isMultiple = (us: number, stepUs: number): boolean =>
  Math.abs(us - Math.round(us / stepUs) * stepUs) <= Math.min(ROUNDING_US, stepUs / 4);

function isStep(stamps: Float64Array, originUs: number, stepUs: number, oddMax: number): boolean {
  let odd = 0;
  for (let i = 0; i < stamps.length && odd <= oddMax; i++) {
    if (!isMultiple((stamps[i] as number) - originUs, stepUs)) odd++;
  }
  return odd <= oddMax;
}

/** The coarsest of 1, 2, 5 x 10^k microseconds that nearly all stamps are multiples of, counted from the first one. */
export function stampResolution(table: FrameTable): number {
  const stamps = sampleStamps(table);
  const originUs = stamps.length > 0 ? stamps.reduce((least, us) => Math.min(least, us), Infinity) : 0;
  const oddMax = (1 - MULTIPLES_SHARE) * stamps.length;
  for (const stepUs of STEPS_US) if (isStep(stamps, originUs, stepUs, oddMax)) return stepUs;
  return STEPS_US[STEPS_US.length - 1] as number;
}
