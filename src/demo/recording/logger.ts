/**
 * The logger: stamps each frame at its end on the wire by its own clock, in its own resolution, perhaps only when it
 * fetches a batch; loses frames in bursts; may ask diagnostic questions itself. What it kept becomes a recording.
 */
import { createRandom, type Random } from '../../kit/random.ts';
import type { TrueFrame, Vehicle, VehicleBus } from '../true-frame.ts';
import type { Sent } from './arbitrate.ts';

export interface LoggerOptions {
  /** Epoch seconds of simulated time 0, whole. */
  readonly startEpochS: number;
  /** Stamps are multiples of this. */
  readonly resolutionUs: number;
  /** Frames are fetched this often and share one stamp; 0: each its own. */
  readonly batchMs: number;
  /** How much faster than true time its clock runs. */
  readonly skewPpm: number;
  /** Bursts of lost frames over the whole recording, and the most frames lost in one. */
  readonly lossBursts: number;
  readonly lossMost: number;
  /** Once, in the second half, it records nothing at all for so long; 0: never. */
  readonly holeS: number;
  /** It asks a diagnostic question this often; 0: never. */
  readonly askMs: number;
  readonly seed: number;
}

export const PLAIN_LOGGER: LoggerOptions = {
  startEpochS: 1_773_043_200,
  resolutionUs: 1,
  batchMs: 0,
  skewPpm: 0,
  lossBursts: 0,
  lossMost: 0,
  holeS: 0,
  askMs: 0,
  seed: 1,
};

/** A finished recording, columnar, in the order in which the logger wrote it. */
export interface Recording {
  readonly vehicle: Vehicle;
  readonly startEpochS: number;
  readonly count: number;
  /** [count] microseconds since `startEpochS`, whole, not falling on any one bus. */
  readonly timeUs: Float64Array;
  /** [count] index in `vehicle.frames`. */
  readonly frame: Uint16Array;
  /** [count] where the payload starts in `payload`; its length is the frame's. */
  readonly at: Uint32Array;
  readonly payload: Uint8Array;
  /** Frames that were on the wire and are not in the recording. */
  readonly lost: number;
}

export const frameAt = (recording: Recording, row: number): TrueFrame =>
  recording.vehicle.frames[recording.frame[row] as number] as TrueFrame;

export function payloadAt(recording: Recording, row: number): Uint8Array {
  const at = recording.at[row] as number;
  return recording.payload.subarray(at, at + frameAt(recording, row).map.length);
}

/** Whether the logger itself sent it. */
export const isOwn = (frame: TrueFrame): boolean => frame.diagnostic === 'request';

/** Whether any frame of a recording was sent by the logger. */
export function holdsOwn({ vehicle, frame }: Recording): boolean {
  const own = vehicle.frames.findIndex(isOwn);
  return frame.includes(own);
}

export const busOf = ({ vehicle }: Recording, frame: TrueFrame): VehicleBus => vehicle.buses[frame.bus] as VehicleBus;

function drawLosses(random: Random, { count, timeUs }: Sent, options: LoggerOptions): Uint8Array {
  const lost = new Uint8Array(count);
  if (options.holeS > 0) {
    const fromUs = (timeUs[Math.floor(count * random.between(0.55, 0.75))] as number) ?? 0;
    for (let i = 0; i < count; i++) {
      const at = timeUs[i] as number;
      if (at >= fromUs && at < fromUs + options.holeS * 1e6) lost[i] = 1;
    }
  }
  for (let burst = 0; burst < options.lossBursts; burst++) {
    const from = random.below(count);
    lost.fill(1, from, from + 1 + random.below(options.lossMost));
  }
  return lost;
}

function stamp(timeUs: number, { skewPpm, batchMs, resolutionUs }: LoggerOptions): number {
  const own = timeUs * (1 + skewPpm * 1e-6);
  const fetched = batchMs > 0 ? Math.ceil(own / (1000 * batchMs)) * 1000 * batchMs : own;
  return Math.round(fetched / resolutionUs) * resolutionUs;
}

export function log(vehicle: Vehicle, sent: Sent, options: LoggerOptions): Recording {
  const random = createRandom(options.seed).fork('logger');
  const lost = drawLosses(random, sent, options);
  const timeUs = new Float64Array(sent.count);
  const frame = new Uint16Array(sent.count);
  const at = new Uint32Array(sent.count);
  const bytes = new Uint8Array(totalBytes(vehicle, sent));
  let count = 0;
  let size = 0;
  for (const index of endOrder(sent)) {
    if (lost[index]) continue;
    const payload = sent.payloadOf(index);
    timeUs[count] = stamp(sent.timeUs[index] as number, options);
    frame[count] = sent.frame[index] as number;
    at[count++] = size;
    bytes.set(payload, size);
    size += payload.length;
  }
  const kept = { timeUs: timeUs.slice(0, count), frame: frame.slice(0, count), at: at.slice(0, count) };
  return {
    vehicle,
    startEpochS: options.startEpochS,
    count,
    ...kept,
    payload: bytes.slice(0, size),
    lost: sent.count - count,
  };
}

/** Frames were simulated in the order of their start; over two buses their ends differ from that by a frame or two. */
function endOrder(sent: Sent): Uint32Array {
  const order = Uint32Array.from({ length: sent.count }, (_, index) => index);
  for (let i = 1; i < order.length; i++) {
    const own = order[i] as number;
    const timeUs = sent.timeUs[own] as number;
    let j = i;
    for (; j > 0 && (sent.timeUs[order[j - 1] as number] as number) > timeUs; j--) order[j] = order[j - 1] as number;
    order[j] = own;
  }
  return order;
}

function totalBytes(vehicle: Vehicle, sent: Sent): number {
  let total = 0;
  for (let i = 0; i < sent.count; i++) total += (vehicle.frames[sent.frame[i] as number] as TrueFrame).map.length;
  return total;
}
