/**
 * The keep-alive plan as lanes over time: when each frame is due, as the plan has it. Where a frame stands within its period is known only
 * against others of its sender; where even that is unknown its first is drawn at zero, and told apart. Pure.
 */
import type { PlannedFrame } from '../../../../handover/needs/types.ts';
import { frameKey } from '../../../../map/identifiers.ts';
import { displayId } from '../../../../kit/units.ts';

export interface Lane {
  /** The frame's bus, identifier and kind in one text. */
  readonly key: string;
  readonly planned: PlannedFrame;
  /** "0x0D2" */
  readonly label: string;
  readonly group: string | null;
  /** When it is due, ms from the left edge; the interval between two; null where it is not sent by the clock. */
  readonly atMs: readonly number[];
  readonly everyMs: number | null;
  /** Its place against the others of its sender is known. */
  readonly isPlaced: boolean;
  readonly counter: boolean;
  readonly checksum: boolean;
  /** In place of marks: "on change". Empty where there are marks. */
  readonly words: string;
}

/** What the drawing is long where the plan has something in it so often. */
export const SHORT_MS = 100;
/** No drawing is longer: beyond, marks of quick frames run together. */
const LONGEST_MS = 2000;
/** Periods are measured; within this share of a round one they are taken for it. */
const ROUND_WITHIN = 0.004;

const isTimed = ({ frame }: PlannedFrame): boolean => frame.timing.kind === 'periodic' || frame.timing.kind === 'mixed';

/** A measured period as its sender means it, as far as that can be told: whole milliseconds where it lies next to one. */
export function meantMs(periodMs: number): number {
  const whole = Math.round(periodMs);
  return whole > 0 && Math.abs(periodMs - whole) <= ROUND_WITHIN * periodMs ? whole : periodMs;
}

const common = (a: number, b: number): number => (b === 0 ? a : common(b, a % b));

/** After so long all of them stand as they stood, ms: the least common multiple of whole periods, as long as a drawing bears it. */
export function hyperperiodMs(periodsMs: readonly number[]): number {
  let all = 1;
  for (const periodMs of periodsMs) {
    const whole = Math.max(1, Math.round(periodMs));
    all = (all / common(all, whole)) * whole;
    if (all > LONGEST_MS) return LONGEST_MS;
  }
  return all;
}

export interface Spans {
  readonly shortMs: number;
  /** Of one hyperperiod; the same as the short one where that is longer. */
  readonly wholeMs: number;
}

export function spansOf(frames: readonly PlannedFrame[]): Spans {
  const periods = frames.filter(isTimed).flatMap(({ periodMs }) => (periodMs === null ? [] : [meantMs(periodMs)]));
  const whole = periods.length > 0 ? hyperperiodMs(periods) : SHORT_MS;
  const quickest = Math.min(...periods, LONGEST_MS);
  const shortMs = quickest > SHORT_MS ? whole : SHORT_MS;
  return { shortMs, wholeMs: Math.max(shortMs, whole) };
}

const KINDS: Readonly<Record<string, string>> = {
  'on-change': 'on change',
  reply: 'when it is asked',
  once: 'once',
};

/** Due times in [0, spanMs). */
function dueIn(spanMs: number, everyMs: number, phaseMs: number): number[] {
  const due: number[] = [];
  for (let n = 0; phaseMs + n * everyMs < spanMs - 1e-9; n++) due.push(phaseMs + n * everyMs);
  return due;
}

function wordsFor(planned: PlannedFrame, everyMs: number | null, isDue: boolean): string {
  if (everyMs === null) return KINDS[planned.frame.timing.kind] ?? 'period unknown';
  return isDue
    ? ''
    : `every ${everyMs >= 1000 ? `${everyMs / 1000} s` : `${Math.round(everyMs)} ms`}, not in this span`;
}

function laneOf(planned: PlannedFrame, spanMs: number): Lane {
  const { frame, periodMs, phaseMs } = planned;
  const everyMs = isTimed(planned) && periodMs !== null ? meantMs(periodMs) : null;
  const atMs = everyMs === null ? [] : dueIn(spanMs, everyMs, phaseMs ?? 0);
  return {
    key: frameKey(frame),
    planned,
    label: displayId(Number(frame.id), frame.extended),
    group: frame.sender?.group ?? null,
    atMs,
    everyMs,
    isPlaced: phaseMs !== null,
    counter: frame.counters.length > 0,
    checksum: frame.checksums.length > 0,
    words: wordsFor(planned, everyMs, atMs.length > 0),
  };
}

export const lanesOf = (frames: readonly PlannedFrame[], spanMs: number): readonly Lane[] =>
  frames.map((planned) => laneOf(planned, spanMs));
