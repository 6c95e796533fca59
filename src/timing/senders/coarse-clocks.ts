/**
 * Clocks where stamps step: from order between all identifiers, and from the edges between steps where a clock crosses enough of
 * them. The two err for different reasons (order by how time between modules is stretched, edges by waits), so that
 * their mean by weight is better than either.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import type { FrameTable } from '../../frames/table.ts';
import type { BusFrames } from '../bus-frames.ts';
import type { ClockReading, FollowedClock, Recorded } from './clock-reading.ts';
import { fitLines, orderFrames, type Lines } from './order-fit.ts';
import { sampleLines } from './order-samples.ts';
import { boundsOf, rateFromBounds, type Bounds } from './rate-profile.ts';
import { rateFromEdges, type OwnRate } from './stamp-edges.ts';

/** Rates from order err by so much more than their own frames show: the lines between which they lie err too. */
const ORDER_CAUTION = 1.5;

function joined(order: OwnRate, edges: OwnRate | null): OwnRate {
  const orderSe = ORDER_CAUTION * order.se;
  if (!edges) return { ...order, se: orderSe };
  const [a, b] = [1 / orderSe ** 2, 1 / edges.se ** 2];
  return { ...edges, ppm: (a * order.ppm + b * edges.ppm) / (a + b), se: Math.sqrt(1 / (a + b)) };
}

interface Drawn {
  readonly lines: Lines;
  readonly samples: readonly Lines[];
}

function readCoarsely(
  clock: FollowedClock,
  place: number,
  bounds: Bounds,
  { lines, samples }: Drawn,
  { stepUs, endUs }: Recorded,
): ClockReading {
  const { stream, track, skew } = clock;
  const halfS = endUs / 2e6;
  const order = rateFromBounds(bounds, lines, place, halfS);
  const edges = rateFromEdges(stream.timeUs, track, stepUs, endUs, skew.leastSquares.ppm);
  const drawn = {
    ppm: order.ppm,
    samplesPpm: Float64Array.from(samples, (each) => -(each[3 * place + 1] as number) / halfS),
    edges,
  };
  return { ...clock, rate: joined(order, edges), windows: null, shiftUs: 0, levelUs: order.levelUs, drawn };
}

/** Cost: as that of the fit, and a bounded search for each stream. */
export function* readClocksCoarsely(
  table: FrameTable,
  clocks: readonly FollowedClock[],
  buses: readonly BusFrames[],
  recorded: Recorded,
): Steps<ClockReading[]> {
  const ordered = buses.map((frames) => orderFrames(frames, clocks, recorded.endUs));
  yield;
  const lines = yield* fitLines(ordered, clocks, recorded.stepUs, recorded.endUs);
  const samples = yield* sampleLines(ordered, lines, clocks.length, recorded.endUs);
  const bounds = ordered.map((frames) => boundsOf(frames, lines, clocks.length));
  const readings: ClockReading[] = [];
  for (const [place, clock] of clocks.entries()) {
    const own = (bounds[table.buses.indexOf(clock.stream.bus)] as Bounds[])[place] as Bounds;
    readings.push(readCoarsely(clock, place, own, { lines, samples }, recorded));
    yield;
  }
  return readings;
}
