/**
 * How far each clock is from what most clocks of the capture do: in its rate, and in how the rate changes. Two clocks agree by chance where
 * many clocks are, and hardly ever where none is: what a resonator far out and a crystal that warms share with another identifier says
 * more than what crystals share.
 */
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import { median } from '../robust.ts';
import { WINDOW_COUNTS, type ClockReading, type Recorded } from './clock-reading.ts';
import { fitOverTime } from './drift-fit.ts';

export interface OwnWays {
  /** [n] parts per million from the middle of all; 0 where stamps are too coarse to tell. */
  readonly awayPpm: Float64Array;
  /** [n] the same of the change of the rate, ppm per 100 s; 0 where it does not show beyond its error. */
  readonly bentPpm: Float64Array;
}

const WINDOWS_LEAST = 8;
/** A bend is one beyond so many standard errors. */
const SHOWN_SE = 5;

/** How its rate changes against the capture's clock, and the standard error of that, ppm per 100 s; null where it does not show. */
function ownBend({ windows }: ClockReading, endS: number): readonly [bend: number, se: number] | null {
  if (!windows) return null;
  for (const [level, count] of WINDOW_COUNTS.entries()) {
    const { valueUs, errorUs } = windows[level] as NonNullable<typeof windows>[number];
    const heard = [...valueUs.keys()].filter((w) => !Number.isNaN(valueUs[w] as number));
    if (heard.length < Math.max(WINDOWS_LEAST, count / 2)) continue;
    const { bend, bendSe } = fitOverTime(
      Float64Array.from(heard, (w) => ((w + 0.5) * endS) / count),
      Float64Array.from(heard, (w) => valueUs[w] as number),
      Float64Array.from(heard, (w) => errorUs[w] as number),
    );
    return [bend, bendSe];
  }
  return null;
}

/** Cost: a bounded fit for each. */
export function ownWays(readings: readonly ClockReading[], { endUs }: Recorded): OwnWays {
  const isFine = readings.every(({ levelUs }) => levelUs === null);
  if (!isFine || readings.length === 0) {
    return { awayPpm: new Float64Array(readings.length), bentPpm: new Float64Array(readings.length) };
  }
  const rates = Float64Array.from(readings, ({ rate }) => rate.ppm);
  const middlePpm = median(rates.slice());
  const bends = readings.map((reading) => ownBend(reading, endUs / MICROS_PER_SECOND));
  const known = bends.filter((bend) => bend !== null).map(([bend]) => bend);
  const middleBend = known.length === 0 ? 0 : median(Float64Array.from(known));
  const bentBy = (own: readonly [number, number] | null): number => {
    if (!own) return 0;
    const bent = Math.abs(own[0] - middleBend);
    return bent > SHOWN_SE * own[1] ? bent : 0;
  };
  return { awayPpm: rates.map((ppm) => Math.abs(ppm - middlePpm)), bentPpm: Float64Array.from(bends, bentBy) };
}
