/**
 * What the stamps of a capture are multiples of, in decimals: the coarsest step that nearly all of them keep. Frames that were moved onto
 * another logger's clock are judged by the stamps that their own file had.
 */
import type { ClockPiece, FrameTable, Stream } from '../../frames/table.ts';
import { wrapped } from '../wrapped.ts';
import { ownTime } from './loggers/retime.ts';

const STEPS_US = [
  1e6, 5e5, 2e5, 1e5, 5e4, 2e4, 1e4, 5000, 2000, 1000, 500, 200, 100, 50, 20, 10, 5, 2, 1, 0.1, 0.01, 0.001,
];
const STAMPS_LOOKED_AT = 20_000;
/** A few odd stamps (after a clock jump) do not make a coarse clock fine. */
const MULTIPLES_SHARE = 0.999;

function sampleStamps(streams: readonly Stream[], frameCount: number, pieces: readonly ClockPiece[]): Float64Array {
  const every = Math.max(1, Math.floor(frameCount / STAMPS_LOOKED_AT));
  const stamps: number[] = [];
  for (const { timeUs, count } of streams) {
    for (let row = 0; row < count; row += every) {
      const us = timeUs[row] as number;
      stamps.push(pieces.length > 0 ? ownTime(pieces, us) : us);
    }
  }
  return Float64Array.from(stamps);
}

/** Stamps are decimal fractions held as doubles: half a nanosecond is within their rounding. */
const ROUNDING_US = 5e-4;
const isMultiple = (us: number, stepUs: number): boolean =>
  Math.abs(wrapped(us, stepUs)) <= Math.min(ROUNDING_US, stepUs / 4);

function isStep(stamps: Float64Array, originUs: number, stepUs: number, oddMax: number): boolean {
  let odd = 0;
  for (let i = 0; i < stamps.length && odd <= oddMax; i++) {
    if (!isMultiple((stamps[i] as number) - originUs, stepUs)) odd++;
  }
  return odd <= oddMax;
}

function stepOfStamps(stamps: Float64Array): number {
  const originUs = stamps.length > 0 ? stamps.reduce((least, us) => Math.min(least, us), Infinity) : 0;
  const oddMax = (1 - MULTIPLES_SHARE) * stamps.length;
  return (
    STEPS_US.find((stepUs) => isStep(stamps, originUs, stepUs, oddMax)) ?? (STEPS_US[STEPS_US.length - 1] as number)
  );
}

/** The coarsest of 1, 2, 5 x 10^k microseconds that nearly all stamps of a clock are multiples of; of several clocks, the coarsest one's. */
export function stampResolution(table: FrameTable): number {
  const loggers = table.loggers ?? [];
  const others = new Set(loggers.flatMap(({ buses }) => buses));
  const clocks = [
    { streams: table.streams.filter(({ bus }) => !others.has(bus)), pieces: [] },
    ...loggers.map(({ buses, pieces }) => ({
      streams: table.streams.filter(({ bus }) => buses.includes(bus)),
      pieces,
    })),
  ].filter(({ streams }) => streams.length > 0);
  const steps = clocks.map(({ streams, pieces }) => stepOfStamps(sampleStamps(streams, table.frameCount, pieces)));
  return steps.length > 0 ? Math.max(...steps) : stepOfStamps(new Float64Array(0));
}
