/**
 * How busy a bus is: frame bits by ISO 11898-1, stuff bits counted on a sample of distinct payloads of each identifier, over the span and
 * in its busiest second. Everything that was on the wire counts, the logger's own frames included.
 */
import { columnEdges } from '../frames/pictures/columns.ts';
import { sampleWire, type WireSample } from '../frames/pictures/load.ts';
import type { Span } from '../frames/pictures/span.ts';
import type { Steps } from '../frames/pictures/steps.ts';
import type { Stream } from '../frames/table.ts';
import { wireSeconds, type BusRate } from '../frames/wire.ts';
import type { SurveyBus } from './types.ts';

export type Occupation = Pick<SurveyBus, 'load' | 'peakLoad' | 'loadWhy' | 'stuffing'>;

const PEAK_WINDOW_S = 1;

interface Sampled {
  readonly stream: Stream;
  readonly wire: WireSample;
}

function stuffingOf(sampled: readonly Sampled[]): SurveyBus['stuffing'] {
  const frames = sampled.reduce((sum, { stream }) => sum + stream.count, 0);
  if (frames === 0) return null;
  const bits = sampled.reduce((sum, { stream, wire }) => sum + stream.count * wire.stuff, 0);
  return { meanBits: bits / frames, sampled: sampled.reduce((sum, { wire }) => sum + wire.sampled, 0) };
}

/** Share of the busiest whole second; of the span where that is shorter. */
function peakShare(sampled: readonly Sampled[], rate: BusRate, span: Span): number {
  const durationS = span.toS - span.fromS;
  const columns = Math.max(1, Math.floor(durationS / PEAK_WINDOW_S));
  const widthS = Math.min(PEAK_WINDOW_S, durationS);
  const window = { fromS: span.fromS, toS: span.fromS + columns * widthS, columns };
  const busyS = new Float64Array(columns);
  for (const { stream, wire } of sampled) {
    const edges = columnEdges(stream.timeUs, window);
    const secondsEach = wireSeconds(wire, rate);
    for (let column = 0; column < columns; column++) {
      const frames = (edges[column + 1] as number) - (edges[column] as number);
      busyS[column] = (busyS[column] as number) + frames * secondsEach;
    }
  }
  return busyS.reduce((most, busy) => Math.max(most, busy), 0) / widthS;
}

const noLoad = (stuffing: SurveyBus['stuffing'], loadWhy: string): Occupation => ({
  load: null,
  peakLoad: null,
  loadWhy,
  stuffing,
});

function impossible(load: number, { bitrate }: BusRate): string {
  const times = load.toPrecision(3);
  return `At ${bitrate} bit/s the frames alone would take ${times} times the recording: the bit rate is too low, or the stamps are too close.`;
}

/** @param streams those of one bus, within the span */
export function* occupation(streams: readonly Stream[], rate: BusRate | undefined, span: Span): Steps<Occupation> {
  const sampled: Sampled[] = [];
  for (const stream of streams) {
    sampled.push({ stream, wire: sampleWire(stream) });
    yield;
  }
  const stuffing = stuffingOf(sampled);
  const durationS = span.toS - span.fromS;
  if (!rate) return noLoad(stuffing, 'No bit rate is known for this bus: give one to see its load.');
  if (durationS <= 0) return noLoad(stuffing, 'The recording has no length in time.');
  const busyS = sampled.reduce((sum, { stream, wire }) => sum + stream.count * wireSeconds(wire, rate), 0);
  const load = busyS / durationS;
  if (load > 1) return noLoad(stuffing, impossible(load, rate));
  const counted = `stuff bits counted on ${stuffing?.sampled ?? 0} distinct payloads`;
  const loadWhy = `Bits of all frames at ${rate.bitrate} bit/s, ${counted}; remote and error frames left out.`;
  return { load, peakLoad: Math.min(1, peakShare(sampled, rate, span)), loadWhy, stuffing };
}
