/**
 * What log lines and screen lines have in common: one frame a line, a fast reader of the usual shape
 * over bytes, a written-out grammar for all others, stamps that may be missing or count from line to line.
 */
import type { Steps } from '../pictures/steps.ts';
import { isAside } from './asides.ts';
import { LineCutter, textOf } from './lines.ts';
import { NameMatcher } from './names.ts';
import type { Consumer, Judgement, Sample } from './reader.ts';
import type { Recorder } from './recorder.ts';
import { parseDateStamp, parseNumberStamp, parseTimeOfDay, type Stamp } from './stamps.ts';

export interface LineFrame {
  readonly stamp: Stamp | null;
  readonly isTimeOfDay?: boolean;
  readonly bus: string;
  readonly id: number;
  readonly kind: 'data' | 'remote' | 'error';
  readonly extended: boolean;
  readonly sent: boolean;
  readonly fdFlags: number;
  readonly bytes: readonly number[];
}

/** `steps`: each stamp counts from the line before. */
export type LineClock = 'none' | 'absolute' | 'steps';

export interface LineGrammar {
  /** The frame on a line, or the reason why there is none. */
  parse(text: string): LineFrame | string;
  /** Takes the line that begins at `from` where it has the usual shape, and returns where it ends; -1 for any other. */
  takeUsual(bytes: Uint8Array, from: number, end: number, into: FrameLineConsumer): number;
}

export class FrameLineConsumer implements Consumer {
  readonly scratch = new Uint8Array(64);
  readonly buses: NameMatcher;
  private readonly cutter: LineCutter;
  private elapsedUs = 0;

  constructor(
    readonly recorder: Recorder,
    private readonly grammar: LineGrammar,
    private readonly clock: LineClock,
  ) {
    this.buses = new NameMatcher((name) => recorder.bus(name));
    const takeUsual = (bytes: Uint8Array, from: number, end: number): number =>
      grammar.takeUsual(bytes, from, end, this);
    this.cutter = new LineCutter(
      (bytes, from, to) => this.anyLine(textOf(bytes, from, to)),
      clock === 'none' ? null : takeUsual,
    );
  }

  push(bytes: Uint8Array): void {
    this.cutter.push(bytes);
  }

  finish(): void {
    this.cutter.finish();
  }

  /** Takes a data frame whose payload stands in `scratch`. */
  takeData(
    bus: number,
    id: number,
    extended: boolean,
    sent: boolean,
    seconds: number,
    fractionUs: number,
    length: number,
    fdFlags: number,
  ): void {
    const { recorder } = this;
    const slot = recorder.slot(bus, id, extended, sent);
    recorder.data(bus, slot, this.instant(seconds, fractionUs), this.scratch, 0, length, fdFlags);
  }

  private instant(seconds: number, fractionUs: number): number {
    if (this.clock === 'absolute') return this.recorder.instant(seconds, fractionUs);
    this.elapsedUs += seconds * 1e6 + fractionUs;
    return this.recorder.instant(0, this.elapsedUs);
  }

  private anyLine(text: string): void {
    const { recorder, scratch } = this;
    const frame = this.grammar.parse(text);
    const fault = typeof frame === 'string' ? frame : this.stampFault(frame);
    if (typeof frame === 'string' || fault) {
      if (isAside(text)) recorder.ledger.passedOver++;
      else recorder.ledger.reject(text, fault);
      return;
    }
    const { stamp, id, extended, sent, bytes } = frame;
    const bus = recorder.bus(frame.bus);
    const timeUs =
      stamp && this.clock !== 'none' ? this.instant(stamp.seconds, stamp.fractionUs) : recorder.unstampedInstant();
    recorder.decimals = Math.max(recorder.decimals, stamp?.decimals ?? 0);
    if (frame.isTimeOfDay) recorder.timeOfDay = true;
    if (frame.kind === 'remote') recorder.remote(bus, id, extended, sent);
    else if (frame.kind === 'error') recorder.error(bus, timeUs);
    else {
      scratch.set(bytes);
      recorder.data(bus, recorder.slot(bus, id, extended, sent), timeUs, scratch, 0, bytes.length, frame.fdFlags);
    }
  }

  private stampFault({ stamp }: LineFrame): string {
    return stamp === null && this.clock !== 'none' ? 'no stamp, though the other lines have one' : '';
  }
}

const LINES_A_STEP = 200;

/** The frames among sampled lines, and how many lines claim to be something. In steps. */
function* framesAmong(
  lines: readonly string[],
  parse: (line: string) => LineFrame | string,
): Steps<{ claims: readonly string[]; frames: readonly LineFrame[] }> {
  const claims: string[] = [];
  const frames: LineFrame[] = [];
  for (const [place, line] of lines.entries()) {
    if (place % LINES_A_STEP === LINES_A_STEP - 1) yield;
    const frame = parse(line);
    if (typeof frame === 'string' && isAside(line)) continue;
    claims.push(line);
    if (typeof frame !== 'string') frames.push(frame);
  }
  return { claims, frames };
}

/** Seconds, a date with a time, or a time of day. */
export function parseLineStamp(text: string, zoneS: number): { stamp: Stamp | null; isTimeOfDay: boolean } {
  const stamp = parseNumberStamp(text, 'seconds') ?? parseDateStamp(text, zoneS, 'day-first');
  if (stamp) return { stamp, isTimeOfDay: false };
  const timeOfDay = parseTimeOfDay(text);
  return { stamp: timeOfDay, isTimeOfDay: timeOfDay !== null };
}

const POWERS = [1e6, 1e5, 1e4, 1e3, 100, 10, 1];

/** Microseconds of so many decimal digits read as a whole number. */
export const microsOf = (fraction: number, decimals: number): number =>
  decimals <= 6 ? fraction * (POWERS[decimals] as number) : fraction / 10 ** (decimals - 6);

/** Stamps that mostly rise count from a start; small ones that do not count from line to line. */
function clockOf(frames: readonly LineFrame[]): LineClock {
  const stamps = frames.map(({ stamp }) => stamp).filter((stamp) => stamp !== null);
  if (stamps.length * 2 <= frames.length) return 'none';
  const seconds = stamps.map(({ seconds, fractionUs }) => seconds + fractionUs / 1e6);
  const falls = seconds.filter((value, i) => i > 0 && value < (seconds[i - 1] as number)).length;
  const isSmall = seconds.filter((value) => value < 60).length > seconds.length * 0.9;
  return isSmall && falls > seconds.length * 0.2 && !frames.some(({ isTimeOfDay }) => isTimeOfDay)
    ? 'steps'
    : 'absolute';
}

const CLOCK_WORDS: Readonly<Record<LineClock, string>> = {
  none: ', without stamps',
  absolute: '',
  steps: '; stamps count from line to line and were added up',
};

/** One of the line formats, for judging. */
export interface LineDialect extends LineGrammar {
  /** "log lines ("bus id#payload")". */
  readonly called: string;
  /** Whether a line that is no frame looks as if it were meant as one. */
  isNear(line: string): boolean;
  readonly nearness: { readonly near: number; readonly far: number };
  /** What no line has. */
  readonly lacks: string;
}

/** How well the sampled lines fit a dialect. */
export function* judgeLines(sample: Sample, dialect: LineDialect): Steps<Judgement> {
  const { parse } = dialect;
  const { claims, frames } = yield* framesAmong([...sample.lines, ...sample.deepLines], parse);
  if (frames.length === 0) {
    const near = claims.find((line) => dialect.isNear(line));
    const words = near ? String(parse(near)) : dialect.lacks;
    return { score: 0, nearness: near ? dialect.nearness.near : dialect.nearness.far, words };
  }
  // Lines from deeper in the file do not follow one another: they say nothing of steps.
  const clock = clockOf(frames.slice(0, sample.lines.length));
  return {
    score: frames.length / claims.length,
    words: `${frames.length} of ${claims.length} sampled lines are ${dialect.called}${CLOCK_WORDS[clock]}`,
    open: (recorder) => new FrameLineConsumer(recorder, dialect, clock),
  };
}
