/**
 * Decides, after the last line of a file, what each break in a bus's stamps was, and mends what can be
 * mended: stamps that wrap, a logger that restarted or set its clock, single frames stamped far off, a
 * lonely first row. Frames that are merely out of order are left to be sorted. Whether a clock stepped
 * back or frames came late is told by the identifiers: a clock that steps back takes all of them along.
 */
import type { FrameBuilder } from '../builder.ts';
import type { ClockEvent } from '../table.ts';
import { BREAKS_KEPT, type Run, SILENCE_US, STEP_BACK_US } from './clock-watch.ts';
import { findWrap } from './clock-wrap.ts';

/** An event before the origin is known: instants count from the base. */
export type RawEvent = Omit<ClockEvent, 'file' | 'atS'> & { readonly atUs: number };

const SECOND = 1e6;
const DAY_US = 86_400 * SECOND;
/** Frames so far from their neighbours on both sides were stamped wrongly. */
const FAR_OFF_US = 60 * SECOND;
const FEW = 5;
const LONELY_US = 10 * SECOND;
/** Where a recording goes on after a restart, nobody knows how much later. */
const AFTER_RESTART_US = SECOND;
const EVENTS_KEPT = 200;
/** Breaks beyond this are not each looked into: such stamps are disorder. */
const BREAKS_JUDGED = 500;
/** Parts of the time that two runs have in common, and the share of frames with others in their part from which both were there all along. */
const PARTS = 20;
const COMMON_LEAST = 0.25;

/** A step of the clock as one bus shows it. */
interface ClockStep {
  readonly kind: ClockEvent['kind'];
  readonly stepUs: number;
  /** The last stamp before it. */
  readonly endUs: number;
}

interface Shift extends ClockStep {
  readonly byUs: number;
  /** Each has it once: a clock may step by as much again. */
  readonly buses: Set<number>;
}

/** Stamps of two buses before the same step lie no further apart: a slow bus may have been silent for so long. */
const SAME_STEP_US = SILENCE_US;

export class ClockRepair {
  readonly events: RawEvent[] = [];
  /** Shifts decided on one bus, taken over by the others, so that buses stay together. */
  private readonly shifts: Shift[] = [];

  constructor(
    private readonly builder: FrameBuilder,
    private readonly firstArrival: number,
    /** One past the file's last arrival rank. */
    private readonly endArrival: number,
    /** Whole seconds that instants count from. */
    private readonly baseSeconds: number,
  ) {}

  /** Mends one bus of the file just read. */
  repairBus(bus: number, runs: readonly Run[]): void {
    if (runs.length < 2 || runs.length >= BREAKS_KEPT) return;
    const wrap = findWrap(runs, this.baseSeconds * SECOND);
    if (wrap) this.unwrap(bus, runs, wrap.periodUs, wrap.words);
    else new BusRepair(this, bus, runs).run();
  }

  note(bus: number, event: RawEvent): void {
    const buses = this.builder.busNames;
    const words = buses.length > 1 ? `${buses[bus]}: ${event.words}` : event.words;
    if (this.events.length < EVENTS_KEPT) this.events.push({ ...event, words });
  }

  shift(bus: number, from: number, to: number, byUs: number): void {
    if (byUs === 0) return;
    const end = Math.min(to, this.endArrival);
    for (const slot of this.builder.slotsOfBus(bus)) slot.shift(from, end, byUs);
  }

  /** The shift that another bus got for the same step, or this one for the others to take over. */
  agreed(bus: number, step: ClockStep, byUs: number): number {
    const { kind, stepUs, endUs } = step;
    const known = this.shifts.find(
      (each) =>
        each.kind === kind &&
        !each.buses.has(bus) &&
        Math.abs(each.stepUs - stepUs) < SECOND &&
        Math.abs(each.endUs - endUs) < SAME_STEP_US,
    );
    known?.buses.add(bus);
    if (known) return known.byUs;
    this.shifts.push({ ...step, byUs, buses: new Set([bus]) });
    return byUs;
  }

  isFirstOfFile(run: Run): boolean {
    return run.arrival === this.firstArrival;
  }

  /** Share of the bus's identifiers that go back at an arrival rank; 0 where none is on both sides of it. */
  shareGoingBack(bus: number, arrival: number): number {
    let told = 0;
    let back = 0;
    for (const slot of this.builder.slotsOfBus(bus)) {
      const [before, after] = slot.around(arrival);
      if (Number.isNaN(before) || Number.isNaN(after)) continue;
      told++;
      if (after < before) back++;
    }
    return told === 0 ? 0 : back / told;
  }

  /** Frames by instant in equal parts of fromUs..toUs, of those that arrived in from..to. */
  countParts(bus: number, fromUs: number, toUs: number, from: number, to: number): Uint32Array {
    const counts = new Uint32Array(PARTS);
    for (const slot of this.builder.slotsOfBus(bus)) slot.countInto(counts, fromUs, toUs, from, to);
    return counts;
  }

  private unwrap(bus: number, runs: readonly Run[], periodUs: number, words: string): void {
    let turns = 0;
    runs.forEach((run, i) => {
      const before = runs[i - 1];
      if (before) {
        const turn = Math.round((before.endUs - run.firstUs) / periodUs);
        turns += turn;
        const atUs = run.firstUs + turns * periodUs;
        if (turn > 0) this.note(bus, { kind: 'wrap', line: run.line, atUs, byS: -periodUs / SECOND, words });
      }
      this.shift(bus, run.arrival, endOf(runs, i), turns * periodUs);
    });
  }
}

const endOf = (runs: readonly Run[], i: number): number => runs[i + 1]?.arrival ?? Infinity;

class BusRepair {
  /** What the runs from here on are moved by. */
  private offsetUs = 0;
  private reachedUs: number;

  constructor(
    private readonly repair: ClockRepair,
    private readonly bus: number,
    private readonly runs: readonly Run[],
  ) {
    this.reachedUs = (runs[0] as Run).greatestUs;
  }

  run(): void {
    for (let i = 1; i < this.runs.length; i++) {
      const taken = this.farOff(i);
      if (taken) continue;
      this.judge(i);
      const run = this.runs[i] as Run;
      this.repair.shift(this.bus, run.arrival, endOf(this.runs, i), this.offsetUs);
      this.reachedUs = Math.max(this.reachedUs, run.greatestUs + this.offsetUs);
    }
  }

  /** A few frames whose stamps lie far from both neighbours: placed right after the frame before. */
  private farOff(i: number): boolean {
    const [before, run, after] = [this.runs[i - 1], this.runs[i], this.runs[i + 1]] as [Run, Run, Run | undefined];
    if (!after || run.frames > FEW) return false;
    const together = after.firstUs - before.endUs;
    const away = run.firstUs - before.endUs;
    if (together < -STEP_BACK_US || together > FAR_OFF_US || Math.abs(away) < FAR_OFF_US) return false;
    if (run.firstUs > before.endUs && run.firstUs < after.firstUs) return false;
    const byUs = before.endUs - run.firstUs;
    this.repair.shift(this.bus, run.arrival, after.arrival, byUs + this.offsetUs);
    const words = `${run.frames === 1 ? '1 frame is' : `${run.frames} frames are`} stamped ${plain(Math.abs(away))} away from the neighbours; placed between them`;
    this.note(run, away > 0 ? 'jump-forward' : 'jump-back', away, before.endUs + this.offsetUs, words);
    return true;
  }

  private judge(i: number): void {
    const [before, run] = [this.runs[i - 1], this.runs[i]] as [Run, Run];
    const step = run.firstUs + this.offsetUs - this.reachedUs;
    if (step > SILENCE_US) this.forward(i, before, run, step);
    else if (run.firstUs - before.endUs < -STEP_BACK_US) this.backward(i, before, run);
  }

  private forward(i: number, before: Run, run: Run, step: number): void {
    const usualGap = (run.greatestUs - run.firstUs) / Math.max(1, run.frames - 1);
    const isLonely = i === 1 && before.frames === 1 && this.repair.isFirstOfFile(before) && run.frames >= 10;
    if (isLonely && step > LONELY_US && step > 1000 * usualGap) {
      this.repair.shift(this.bus, before.arrival, run.arrival, step);
      const words = `the first row is stamped ${plain(step)} before the second; it was given the second's stamp`;
      this.note(before, 'lonely-first-row', step, run.firstUs, words);
    } else if (step > DAY_US) {
      const byUs = this.repair.agreed(this.bus, { kind: 'jump-forward', stepUs: step, endUs: before.endUs }, step);
      this.repair.shift(this.bus, (this.runs[0] as Run).arrival, run.arrival, byUs);
      const words = `the clock was set ${plain(step)} forward here; the frames before were moved to end here`;
      this.note(run, 'jump-forward', step, run.firstUs + this.offsetUs, words);
    } else {
      const words = `no frame for ${plain(step)}: the bus was silent or the clock jumped; left as it is`;
      this.note(run, 'jump-forward', step, run.firstUs + this.offsetUs, words);
    }
  }

  private backward(i: number, before: Run, run: Run): void {
    if (i > BREAKS_JUDGED || this.repair.shareGoingBack(this.bus, run.arrival) < 0.5) return;
    const step = run.firstUs - before.endUs;
    if (this.commonWithEarlier(i, run) < COMMON_LEAST) {
      const words = `stamps go back ${plain(-step)} to a time when nothing else was recorded; left as they are and sorted`;
      this.note(run, 'jump-back', step, run.firstUs + this.offsetUs, words);
      return;
    }
    const first = this.runs[0] as Run;
    // Near where the bus began: within a second, in short recordings within a twentieth of them.
    const nearStart = Math.min(SECOND, (before.endUs - first.firstUs) / 20);
    const isRestart = run.firstUs <= first.firstUs + nearStart;
    const usualGap = Math.round(
      Math.min(SECOND, (before.greatestUs - before.firstUs) / Math.max(1, before.frames - 1)),
    );
    const target = this.reachedUs + (isRestart ? AFTER_RESTART_US : usualGap);
    const kind = isRestart ? 'restart' : 'jump-back';
    this.offsetUs = this.repair.agreed(this.bus, { kind, stepUs: step, endUs: before.endUs }, target - run.firstUs);
    const words = isRestart
      ? `the clock starts anew; what follows was placed 1 s after the frame before (how long the pause was cannot be known)`
      : `the clock was set back ${plain(-step)}; what follows was moved so that time goes on`;
    this.note(run, kind, step, run.firstUs + this.offsetUs, words);
  }

  /**
   * Of the time that a run goes over again, the share in which frames were recorded before as well: a clock that was set back records
   * all of it twice, a block that came late fills a hole, however long the run goes on after it.
   */
  private commonWithEarlier(i: number, run: Run): number {
    const { bus, repair, offsetUs } = this;
    const toUs = Math.min(run.greatestUs, this.reachedUs - offsetUs);
    if (!(toUs > run.firstUs)) return 0;
    const own = repair.countParts(bus, run.firstUs, toUs, run.arrival, endOf(this.runs, i));
    const first = this.runs[0] as Run;
    const earlier = repair.countParts(bus, run.firstUs + offsetUs, toUs + offsetUs, first.arrival, run.arrival);
    const [fewer, most] = [
      own.map((n, part) => Math.min(n, earlier[part] as number)),
      own.map((n, part) => Math.max(n, earlier[part] as number)),
    ];
    const sum = (counts: Uint32Array): number => counts.reduce((all, n) => all + n, 0);
    return sum(fewer) / sum(most);
  }

  private note(run: Run, kind: ClockEvent['kind'], stepUs: number, atUs: number, words: string): void {
    this.repair.note(this.bus, { kind, line: run.line, atUs, byS: stepUs / SECOND, words });
  }
}

/** "12.3 s", "3.2 h", "4.1 days". */
function plain(us: number): string {
  const s = us / SECOND;
  if (s < 600) return `${Number(s.toPrecision(3))} s`;
  if (s < 2 * 86_400) return `${Number((s / 3600).toPrecision(2))} h`;
  return `${Number((s / 86_400).toPrecision(3))} days`;
}
