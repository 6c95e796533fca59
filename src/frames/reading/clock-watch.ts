/**
 * Watches the stamps of each bus while a file is read. It keeps no frames: only how many stamps went
 * back, and the few places where a clock stepped back or left a long silence, with the arrival rank
 * there, so that the repair after the last line knows where the pieces of steady time begin and end.
 */
import type { FrameBuilder } from '../builder.ts';
import type { Ledger } from './ledger.ts';

/** A step back of less is disorder between frames, not a clock: drivers deliver late by milliseconds. */
const STEP_BACK_US = 50_000;
/** A silence of more is worth knowing. */
const SILENCE_US = 5_000_000;
/** Beyond so many breaks the stamps are disorder and nothing else. */
const BREAKS_KEPT = 20_000;

/** A run of frames of one bus without a break. */
export interface Run {
  readonly line: number;
  readonly arrival: number;
  readonly firstUs: number;
  /** Greatest stamp in the run. */
  lastUs: number;
  frames: number;
}

interface BusClock {
  lastUs: number;
  run: Run;
  readonly runs: Run[];
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
    clock.lastUs = timeUs;
    if (step < 0) this.outOfOrder++;
    if (step < -STEP_BACK_US || step > SILENCE_US) this.breakAt(clock, timeUs, ledger);
    const run = clock.run;
    run.frames++;
    if (timeUs > run.lastUs) run.lastUs = timeUs;
  }

  /** Runs by bus number of the builder. */
  runsByBus(): (readonly Run[] | undefined)[] {
    return this.clocks.map((clock) => clock?.runs);
  }

  private begin(bus: number, timeUs: number, ledger: Ledger): void {
    const run = { ...this.runAt(timeUs, ledger), frames: 1 };
    this.clocks[bus] = { lastUs: timeUs, run, runs: [run] };
  }

  private breakAt(clock: BusClock, timeUs: number, ledger: Ledger): void {
    if (clock.runs.length >= BREAKS_KEPT) return;
    clock.run = this.runAt(timeUs, ledger);
    clock.runs.push(clock.run);
  }

  private runAt(timeUs: number, ledger: Ledger): Run {
    return { line: ledger.lines + 1, arrival: this.builder.nextArrival, firstUs: timeUs, lastUs: timeUs, frames: 0 };
  }
}
