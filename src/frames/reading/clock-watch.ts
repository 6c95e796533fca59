/**
 * Watches the stamps of each bus while a file is read. It keeps no frames: only how many stamps went
 * back, and the few places where a clock stepped back or left a long silence, with the arrival rank
 * there, so that the repair after the last line knows where the runs of steady time begin and end.
 */
import type { FrameBuilder } from '../builder.ts';
import type { Ledger } from './ledger.ts';

/** A step back of less is disorder between frames, not a clock: drivers deliver late by milliseconds. */
export const STEP_BACK_US = 50_000;
/** A silence of more is worth knowing. */
export const SILENCE_US = 5_000_000;
/** Beyond so many breaks the stamps are disorder and nothing else. */
export const BREAKS_KEPT = 20_000;

/** Frames of one bus, in the order of the file, without a break between them. */
export interface Run {
  readonly line: number;
  readonly arrival: number;
  readonly firstUs: number;
  /** Stamp of the run's last frame in the order of the file. */
  endUs: number;
  /** Greatest stamp in the run. */
  greatestUs: number;
  frames: number;
}

interface BusClock {
  lastUs: number;
  run: Run;
  readonly runs: Run[];
  /** Where the clock stood before it stepped back; Infinity once it has caught up. */
  returnUs: number;
}

export class ClockWatch {
  outOfOrder = 0;
  private readonly clocks: (BusClock | undefined)[] = [];

  constructor(private readonly builder: FrameBuilder) {}

  see(bus: number, timeUs: number, ledger: Ledger): void {
    const clock = this.clocks[bus];
    if (clock === undefined) {
      this.begin(bus, timeUs, ledger);
      return;
    }
    const step = timeUs - clock.lastUs;
    if (step < 0) this.outOfOrder++;
    if (step < -STEP_BACK_US || step > SILENCE_US || timeUs >= clock.returnUs) this.perhapsBreak(clock, timeUs, ledger);
    clock.lastUs = timeUs;
    const run = clock.run;
    run.frames++;
    if (timeUs > run.greatestUs) run.greatestUs = timeUs;
  }

  /** By bus number of the builder. Ask after the last frame. */
  runsByBus(): (Run[] | undefined)[] {
    for (const clock of this.clocks) if (clock) clock.run.endUs = clock.lastUs;
    return this.clocks.map((clock) => clock?.runs);
  }

  /** Buses that a data or error frame of this file was on. */
  busNames(): string[] {
    return this.builder.busNames.filter((_, bus) => this.clocks[bus] !== undefined);
  }

  private begin(bus: number, timeUs: number, ledger: Ledger): void {
    const run = { ...this.runAt(timeUs, ledger), frames: 1 };
    this.clocks[bus] = { lastUs: timeUs, run, runs: [run], returnUs: Infinity };
  }

  private perhapsBreak(clock: BusClock, timeUs: number, ledger: Ledger): void {
    const step = timeUs - clock.lastUs;
    const hasReturned = timeUs >= clock.returnUs;
    // Passing the old place in small steps is a clock that was set back; in one leap, a late block that ends.
    const isLeap = hasReturned && step > STEP_BACK_US && step > (clock.returnUs - clock.run.firstUs) / 2;
    if (hasReturned) clock.returnUs = Infinity;
    if (Math.abs(step) <= SILENCE_US && step >= -STEP_BACK_US && !isLeap) return;
    if (clock.runs.length >= BREAKS_KEPT) return;
    if (step < 0) clock.returnUs = clock.lastUs;
    clock.run.endUs = clock.lastUs;
    clock.run = this.runAt(timeUs, ledger);
    clock.runs.push(clock.run);
  }

  private runAt(timeUs: number, ledger: Ledger): Run {
    const { lines } = ledger;
    const arrival = this.builder.nextArrival;
    return { line: lines + 1, arrival, firstUs: timeUs, endUs: timeUs, greatestUs: timeUs, frames: 0 };
  }
}
