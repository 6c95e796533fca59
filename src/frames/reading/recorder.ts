/**
 * Takes the frames of one file from its reader into the builder: places their stamps on the capture's
 * base, counts disorder, and notes where the clock of a bus breaks, for the repair after the last line.
 */
import type { Problem } from '../../kit/outcome.ts';
import type { FrameBuilder } from '../builder.ts';
import type { Slot } from '../slot.ts';
import { ClockWatch } from './clock-watch.ts';
import { Ledger } from './ledger.ts';

/** Whole seconds that the builder's instants count from: exact for any stamp, set by the first frame. */
export interface TimeBase {
  seconds: number | null;
}

export class Recorder {
  readonly ledger = new Ledger();
  /** What a reader has to say about the file as a whole; the place is added later. */
  readonly warnings: Problem[] = [];
  readonly watch: ClockWatch;
  readonly firstArrival: number;
  /** One past the last arrival rank of this file; Infinity while it is read. */
  endArrival = Infinity;
  /** Most decimals that a stamp of this file had, counted in seconds. */
  decimals = 0;
  /** False as long as no frame had a stamp. */
  stamped = false;
  /** Whether the stamps are times of day without a date. */
  timeOfDay = false;
  lastUs = 0;

  constructor(
    readonly builder: FrameBuilder,
    private readonly base: TimeBase,
    /** Bus of lines that name none. */
    readonly defaultBus: string,
  ) {
    this.firstArrival = builder.nextArrival;
    this.watch = new ClockWatch(builder);
  }

  bus(name: string): number {
    return this.builder.busIndex(name === '' ? this.defaultBus : name);
  }

  slot(bus: number, id: number, extended: boolean, sent: boolean): Slot {
    return this.builder.slot(bus, id, extended, sent);
  }

  /**
   * Microseconds since the base, for a stamp of whole seconds and a fraction in microseconds (both may
   * be negative). Exact for whole microseconds.
   */
  instant(wholeSeconds: number, fractionUs: number): number {
    this.base.seconds ??= wholeSeconds;
    this.stamped = true;
    return (wholeSeconds - this.base.seconds) * 1e6 + fractionUs;
  }

  /** The instant of a frame without a stamp: one microsecond after the last. */
  unstampedInstant(): number {
    return this.builder.nextArrival;
  }

  data(
    bus: number,
    slot: Slot,
    timeUs: number,
    payload: Uint8Array,
    at: number,
    length: number,
    fdFlags: number,
  ): void {
    this.watch.see(bus, timeUs, this.ledger);
    this.builder.add(slot, timeUs, payload, at, length, fdFlags);
    this.ledger.accepted++;
    this.lastUs = timeUs;
  }

  remote(bus: number, id: number, extended: boolean, sent: boolean): void {
    this.builder.addRemote(bus, id, extended, sent);
    this.ledger.accepted++;
  }

  error(bus: number, timeUs: number): void {
    this.watch.see(bus, timeUs, this.ledger);
    this.builder.addError(bus, timeUs);
    this.ledger.accepted++;
    this.lastUs = timeUs;
  }
}
