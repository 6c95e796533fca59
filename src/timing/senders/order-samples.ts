/**
 * How surely lines follow from order: where modules never pass each other, a whole stretch of time may be drawn out without a frame
 * out of place. So the fit is done again and again, each time from other expectations and with other waits than were seen;
 * how far the lines part then is what is not known of them, and of any two together (randomize, then optimize: Bardsley,
 * Solonen, Haario and Laine 2014).
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import { createRandom, type Random } from '../../kit/random.ts';
import {
  BEND_PPM,
  descend,
  expectedLines,
  INDEPENDENT,
  NOISE_US,
  RATE_PPM,
  type Lines,
  type OrderedFrames,
} from './order-fit.ts';

/** So many tell a spread to a fifth of it. */
const SAMPLES = 12;
/** Frames of a bus that they are made from. */
const FRAMES_MOST = 25_000;
const SEED = 1;

/** Runs of neighbours, spread over the capture: order holds within them. */
function thinned(frames: OrderedFrames): OrderedFrames {
  const { n } = frames;
  if (n <= FRAMES_MOST) return frames;
  const stretch = Math.ceil(n / 128);
  const looked = Math.ceil((stretch * FRAMES_MOST) / n);
  const kept: number[] = [];
  for (let i = 0; i < n; i++) if (i % stretch < looked) kept.push(i);
  const pick = (values: Float64Array): Float64Array => Float64Array.from(kept, (i) => values[i] as number);
  return {
    n: kept.length,
    place: Int16Array.from(kept, (i) => frames.place[i] as number),
    tickUs: pick(frames.tickUs),
    u: pick(frames.u),
    afterUs: pick(frames.afterUs),
    untilUs: pick(frames.untilUs),
  };
}

/** Frames of a stream that share their waits get another one together. */
function withOtherWaits(frames: OrderedFrames, streams: number, random: Random): OrderedFrames {
  const counts = new Uint32Array(streams);
  const waits = new Float64Array(streams);
  const tickUs = frames.tickUs.map((us, i) => {
    const place = frames.place[i] as number;
    if ((counts[place] as number) % INDEPENDENT === 0) waits[place] = NOISE_US * random.normal();
    counts[place] = (counts[place] as number) + 1;
    return us + (waits[place] as number);
  });
  return { ...frames, tickUs };
}

/** @returns lines that might as well be, SAMPLES of them. Cost: each a few passes over FRAMES_MOST frames of each bus. */
export function* sampleLines(
  buses: readonly OrderedFrames[],
  lines: Lines,
  streams: number,
  endUs: number,
): Steps<readonly Lines[]> {
  const random = createRandom(SEED);
  const halfS = endUs / 2e6;
  const few = buses.map(thinned);
  const { ridge } = expectedLines(few, streams, halfS);
  const spread = [0, RATE_PPM * halfS, (BEND_PPM * halfS ** 2) / 200];
  const samples: Lines[] = [];
  for (let sample = 0; sample < SAMPLES; sample++) {
    const centre = lines.map((_, i) => (spread[i % 3] as number) * random.normal());
    const shaken = few.map((frames) => withOtherWaits(frames, streams, random));
    samples.push(yield* descend(shaken, lines, { ridge, centre }));
    yield;
  }
  return samples;
}
