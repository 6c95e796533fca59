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

export type Occupation = Pick<SurveyBus, 'load' | 'peakLoad' | 'stuffing'>;

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

/** @param streams those of one bus, within the span. Load and peak are null without a bit rate. */
export function* occupation(streams: readonly Stream[], rate: BusRate | undefined, span: Span): Steps<Occupation> {
  const sampled: Sampled[] = [];
  for (const stream of streams) {
    sampled.push({ stream, wire: sampleWire(stream) });
    yield;
  }
  const stuffing = stuffingOf(sampled);
  const durationS = span.toS - span.fromS;
  if (!rate || durationS <= 0) return { load: null, peakLoad: null, stuffing };
  const busyS = sampled.reduce((sum, { stream, wire }) => sum + stream.count * wireSeconds(wire, rate), 0);
  return { load: busyS / durationS, peakLoad: peakShare(sampled, rate, span), stuffing };
}
