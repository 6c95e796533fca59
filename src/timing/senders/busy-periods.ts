/**
 * When a frame was handed to the bus, as far as stamps of single microseconds show. A frame that found the bus idle went at once; one
 * that follows the frame before it without a pause was waiting, since when is not known, but not from before the busy
 * period began, for an idle bus takes what waits (ISO 11898-1). Busy periods after Davis, Burns, Bril and Lukkien 2007.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import type { FrameTable, Stream } from '../../frames/table.ts';
import { leastBits, worstCaseBits } from '../../frames/wire.ts';
import { quantile, sortedSampleOf } from '../robust.ts';
import type { BusFrames } from '../bus-frames.ts';

/** The bus periods of a table; each array in the order of its streams, its rows those of the stream. */
export interface BusyPeriods {
  /** [streams][count] when the busy period in which a frame was sent began, microseconds from the origin. */
  readonly beganUs: readonly Float64Array[];
  /** [streams][count] index of the stream whose frame began it. */
  readonly openedBy: readonly Int16Array[];
  /** [buses] where in the bus's frames each busy period begins, ascending, then how many frames there are. */
  readonly starts: readonly Uint32Array[];
  /** [streams] usual time of a frame on the wire, microseconds. */
  readonly wireUs: Float64Array;
}

/** Microseconds a bit lasts at the usual rates, 1 Mbit/s to 33.3 kbit/s. */
const BIT_US = [1, 2, 4, 8, 10, 12, 20, 30];
/** Stamps stray by so much from the ends of frames. */
const STAMP_STRAY_US = 3;
/** Of the spacings, the share below which the shortest frames without a pause lie. */
const SHORTEST_SHARE = 0.02;
/** Where so many of all spacings lie within what stuff bits make of the closest, frames follow one behind another, at whatever rate. */
const CROWDED_SHARE = 0.5;
const STUFFED = 1.25;
const ROWS_A_STEP = 100_000;

interface WireLength {
  readonly least: number;
  readonly most: number;
}

/** Bits of a frame with none and with most stuff bits; data bits of CAN FD as at the slow rate. */
const bitsOf = ({ extended, length }: Stream): WireLength => ({
  least: leastBits(length, extended),
  most: worstCaseBits(length, extended),
});

/**
 * How long a bit lasts: the slowest usual rate at which the closest frames still fit behind one another. On a loaded bus whose frames crowd
 * at a distance that no usual rate gives them, it is that distance's: else frames that waited would be taken for such as found it idle.
 */
function bitUs({ timeUs, stream }: BusFrames, lengths: ReadonlyMap<number, WireLength>): number {
  const leastBits = (i: number): number => (lengths.get(stream[i] as number) as WireLength).least;
  const each = sortedSampleOf(Math.max(0, timeUs.length - 1), (i) => {
    const apartUs = (timeUs[i + 1] as number) - (timeUs[i] as number);
    return (apartUs + STAMP_STRAY_US) / Math.min(leastBits(i), leastBits(i + 1));
  });
  const closest = quantile(each, SHORTEST_SHARE);
  const usual = BIT_US.reduce((slowest, us) => (us <= closest ? us : slowest), BIT_US[0] as number);
  const crowded = each.filter((us) => us >= closest && us <= STUFFED * closest).length;
  return closest > STUFFED * usual && crowded >= CROWDED_SHARE * each.length ? closest : usual;
}

/** Microseconds on the wire at least and most; of CAN FD frames, what the closest of them show. */
function wireLengths(frames: BusFrames, streams: readonly Stream[], stepUs: number): Map<number, WireLength> {
  const bits = new Map(streams.map((stream) => [stream.index, bitsOf(stream)]));
  const us = bitUs(frames, bits);
  return new Map(
    streams.map(({ index, fdFlags }) => {
      const { least, most } = bits.get(index) as WireLength;
      const within = STAMP_STRAY_US + stepUs;
      return [index, { least: fdFlags ? 0 : us * least, most: us * most + within }];
    }),
  );
}

/**
 * @param stepUs what stamps are multiples of: fine ones only
 * Cost: O(frames)
 */
export function* busyPeriods(table: FrameTable, buses: readonly BusFrames[], stepUs: number): Steps<BusyPeriods> {
  const beganUs = table.streams.map(({ count }) => new Float64Array(count));
  const openedBy = table.streams.map(({ count }) => new Int16Array(count));
  const [wireUs, mostUs] = [new Float64Array(table.streams.length), new Float64Array(table.streams.length)];
  const starts: Uint32Array[] = [];
  for (const frames of buses) {
    const wire = wireLengths(frames, frames.streams, stepUs);
    for (const [index, { least, most }] of wire) [wireUs[index], mostUs[index]] = [(least + most) / 2, most];
    yield;
    const n = frames.timeUs.length;
    const begins = new Uint32Array(n + 1);
    let [began, opener, periods] = [0, 0, 0];
    let [lastUs, lastMost] = [-Infinity, 0];
    for (let i = 0; i < n; i++) {
      const at = frames.stream[i] as number;
      const row = frames.row[i] as number;
      const us = frames.timeUs[i] as number;
      const most = mostUs[at] as number;
      if (us - lastUs > Math.max(most, lastMost)) {
        began = us - (wireUs[at] as number);
        opener = at;
        begins[periods++] = i;
      }
      (beganUs[at] as Float64Array)[row] = began;
      (openedBy[at] as Int16Array)[row] = opener;
      lastUs = us;
      lastMost = most;
      if (i % ROWS_A_STEP === ROWS_A_STEP - 1) yield;
    }
    begins[periods] = n;
    starts.push(begins.slice(0, periods + 1));
  }
  return { beganUs, openedBy, starts, wireUs };
}
