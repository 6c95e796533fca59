/**
 * Bus load over time. Frame bits by ISO 11898-1; stuff bits are counted exactly on a sample of distinct payloads spread over the
 * stream, and their mean stands for all frames of the stream. Frames that the logger sent occupy the bus like any other.
 */
import { FD_BIT_RATE_SWITCH, FD_ERROR_STATE, FD_FORMAT, lengthAt, type FrameTable, type Stream } from '../table.ts';
import { wireBits, wireSeconds, type BusRates, type WireBits, type WireFrame } from '../wire.ts';
import { columnEdges } from './columns.ts';
import type { Steps } from './steps.ts';
import type { Gap, LoadPicture, Window } from './types.ts';

const PAYLOADS_SAMPLED = 64;

/** Mean bits of a stream's frames, and over how many distinct payloads they were counted. */
export interface WireSample extends WireBits {
  readonly sampled: number;
}

function wireFrameOf(stream: Stream, row: number): WireFrame {
  const at = row * stream.stride;
  const flags = stream.fdFlags?.[row] ?? 0;
  return {
    id: stream.id,
    extended: stream.extended,
    payload: stream.payload.subarray(at, at + lengthAt(stream, row)),
    fd: (flags & FD_FORMAT) !== 0,
    rateSwitch: (flags & FD_BIT_RATE_SWITCH) !== 0,
    errorState: (flags & FD_ERROR_STATE) !== 0,
  };
}

const frameText = ({ payload, fd, rateSwitch, errorState }: WireFrame): string =>
  `${payload.join(' ')}/${fd ? 1 : 0}${rateSwitch ? 1 : 0}${errorState ? 1 : 0}`;

/**
 * Frames at equal distances through the stream, until PAYLOADS_SAMPLED distinct payloads are found; a payload weighs as often
 * as it was met. Cost: a constant number of frames, whatever the stream's length.
 */
export function sampleWire(stream: Stream): WireSample {
  const tries = Math.min(stream.count, 4 * PAYLOADS_SAMPLED);
  const seen = new Map<string, WireBits>();
  const sum = { nominal: 0, data: 0, stuff: 0 };
  let met = 0;
  for (let i = 0; i < tries; i++) {
    const frame = wireFrameOf(stream, Math.floor((i * stream.count) / tries));
    const text = frameText(frame);
    if (seen.size === PAYLOADS_SAMPLED && !seen.has(text)) continue;
    const bits = seen.get(text) ?? wireBits(frame);
    seen.set(text, bits);
    sum.nominal += bits.nominal;
    sum.data += bits.data;
    sum.stuff += bits.stuff;
    met++;
  }
  const n = Math.max(1, met);
  return { nominal: sum.nominal / n, data: sum.data / n, stuff: sum.stuff / n, sampled: seen.size };
}

/** A shorter time holds a frame or none: narrower columns show the load of so much time about their middle. */
const LOAD_WINDOW_S = 0.01;

const shifted = ({ fromS, toS, columns }: Window, byS: number): Window => ({
  fromS: fromS + byS,
  toS: toS + byS,
  columns,
});

/** Adds what a stream puts on the bus in the time about each column's middle. */
function addStream(stream: Stream, window: Window, aboutS: number, secondsEach: number, into: Float64Array): void {
  const widthS = (window.toS - window.fromS) / window.columns;
  const first = columnEdges(stream.timeUs, shifted(window, (widthS - aboutS) / 2));
  const end = aboutS > widthS ? columnEdges(stream.timeUs, shifted(window, (widthS + aboutS) / 2)) : first.subarray(1);
  for (let column = 0; column < window.columns; column++) {
    into[column] = (into[column] as number) + ((end[column] as number) - (first[column] as number)) * secondsEach;
  }
}

function blankGaps(values: Float32Array, window: Window, gaps: readonly Gap[]): void {
  const widthS = (window.toS - window.fromS) / window.columns;
  for (const gap of gaps) {
    const first = Math.max(0, Math.ceil((gap.fromS - window.fromS) / widthS));
    const last = Math.min(window.columns, Math.floor((gap.toS - window.fromS) / widthS));
    for (let column = first; column < last; column++) values[column] = Number.NaN;
  }
}

/**
 * @param sampleOf the wire sample of a stream, made once and kept by the caller
 * @param gapsOf stretches in which a bus was silent: columns inside them are NaN
 */
export function* load(
  table: FrameTable,
  window: Window,
  rates: BusRates,
  sampleOf: (stream: Stream) => WireSample,
  gapsOf: (bus: string) => readonly Gap[] = () => [],
): Steps<LoadPicture> {
  const aboutS = Math.max(LOAD_WINDOW_S, (window.toS - window.fromS) / window.columns);
  const buses: LoadPicture['buses'][number][] = [];
  for (const name of table.buses) {
    const rate = rates[name];
    const sums = new Float64Array(window.columns);
    for (const stream of table.streams) {
      if (stream.bus !== name) continue;
      addStream(stream, window, aboutS, rate ? wireSeconds(sampleOf(stream), rate) : 1, sums);
      yield;
    }
    // Batched stamps may crowd more into a column than the wire can carry.
    const values = Float32Array.from(sums, (sum) => (rate ? Math.min(1, sum / aboutS) : sum / aboutS));
    blankGaps(values, window, gapsOf(name));
    buses.push({ name, values, measure: rate ? 'load' : 'frames-per-second' });
  }
  return { window, buses };
}
