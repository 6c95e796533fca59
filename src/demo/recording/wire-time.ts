/** How long each frame keeps the bus busy: the exact length, counted anew for every few frames of an identifier. */
import { wireBits, wireSeconds } from '../../frames/wire.ts';
import type { TrueFrame, Vehicle } from '../true-frame.ts';

/** Stuff bits change little from frame to frame; counting every eighth keeps a long drive quick to make. */
const COUNT_EVERY = 8;

export class WireTimes {
  private readonly ages: Uint8Array;
  private readonly lastUs: Float64Array;
  constructor(private readonly vehicle: Vehicle) {
    this.ages = new Uint8Array(vehicle.frames.length);
    this.lastUs = new Float64Array(vehicle.frames.length);
  }

  /** Microseconds on the frame's own bus. */
  of(index: number, payload: Uint8Array): number {
    const age = this.ages[index] as number;
    this.ages[index] = (age + 1) % COUNT_EVERY;
    if (age === 0) this.lastUs[index] = this.count(index, payload);
    return this.lastUs[index] as number;
  }

  private count(index: number, payload: Uint8Array): number {
    const { id, extended, fd, bus } = this.vehicle.frames[index] as TrueFrame;
    const bits = wireBits({ id, extended, payload, fd, rateSwitch: fd });
    return 1e6 * wireSeconds(bits, this.vehicle.buses[bus] as Vehicle['buses'][number]);
  }
}
