/**
 * The run card as a machine without a clock: it is told the time, and answers with what to show and which mark to write.
 * rest (nothing touched) -> cue (waits for the person) -> hold (counts down, waits for the release) -> the next turn's rest.
 */
import type { RunStep, Turn } from './plan.ts';

type RunPhase = 'rest' | 'cue' | 'hold' | 'still' | 'done';

export interface Run {
  readonly plan: readonly RunStep[];
  readonly turns: readonly Turn[];
  /** Index into `turns`. */
  readonly at: number;
  readonly phase: RunPhase;
  /** Seconds of the caller's clock at which the phase began; moved on by pauses. */
  readonly since: number;
  /** Seconds at which it was paused, or null. */
  readonly pausedAt: number | null;
  /** Key of the mark last written, for "that went wrong". */
  readonly lastMark: string | null;
  /** Marks written so far for each row of the plan. */
  readonly written: readonly number[];
}

export type RunEvent = 'start-mark' | 'end-mark' | 'instant-mark' | 'drop-mark' | null;

export const startRun = (plan: readonly RunStep[], turns: readonly Turn[], nowS: number): Run => ({
  plan,
  turns,
  at: 0,
  phase: turns.length ? 'rest' : 'done',
  since: nowS,
  pausedAt: null,
  lastMark: null,
  written: plan.map(() => 0),
});

export const turnOf = (run: Run): Turn | undefined => run.turns[run.at];
export const stepOf = (run: Run): RunStep | undefined => run.plan[turnOf(run)?.step ?? -1];

/** Seconds left of the phase, negative once over; Infinity where the phase waits for the person. */
export function leftS(run: Run, nowS: number): number {
  const passed = (run.pausedAt ?? nowS) - run.since;
  if (run.phase === 'rest') return (turnOf(run)?.restS ?? 0) - passed;
  if (run.phase === 'hold' || run.phase === 'still') return (stepOf(run)?.holdS ?? 0) - passed;
  return Infinity;
}

const next = (run: Run, nowS: number): Run => {
  const at = run.at + 1;
  return { ...run, at, phase: at < run.turns.length ? 'rest' : 'done', since: nowS };
};
const counted = (run: Run): Run => ({
  ...run,
  written: run.written.map((n, step) => (step === turnOf(run)?.step ? n + 1 : n)),
});

/** Time passing: a rest that is over becomes the cue, a still step that is over the next turn. */
export function tick(run: Run, nowS: number): Run {
  if (run.pausedAt !== null || leftS(run, nowS) > 0) return run;
  if (run.phase === 'rest') return { ...run, phase: stepOf(run)?.action ? 'cue' : 'still', since: nowS };
  if (run.phase === 'still') return next(run, nowS);
  return run;
}

/** The one big button. */
export function press(run: Run, nowS: number): { readonly run: Run; readonly event: RunEvent } {
  const step = stepOf(run);
  if (run.pausedAt !== null || !step) return { run, event: null };
  if (run.phase === 'cue' && step.holdS === 0) return { run: next(counted(run), nowS), event: 'instant-mark' };
  if (run.phase === 'cue') return { run: { ...run, phase: 'hold', since: nowS }, event: 'start-mark' };
  if (run.phase === 'hold') return { run: next(counted(run), nowS), event: 'end-mark' };
  return { run, event: null };
}

/** The last mark is taken back and its turn comes again. */
export function wentWrong(run: Run, nowS: number): { readonly run: Run; readonly event: RunEvent } {
  if (run.phase === 'hold') return { run: { ...run, phase: 'rest', since: nowS }, event: 'drop-mark' };
  const before = run.at - 1;
  const previous = run.turns[before];
  if (run.lastMark === null || !previous) return { run, event: null };
  const written = run.written.map((n, step) => (step === previous.step ? Math.max(0, n - 1) : n));
  return { run: { ...run, at: before, phase: 'rest', since: nowS, written }, event: 'drop-mark' };
}

export const pause = (run: Run, nowS: number): Run => (run.pausedAt === null ? { ...run, pausedAt: nowS } : run);
export const resume = (run: Run, nowS: number): Run =>
  run.pausedAt === null ? run : { ...run, since: run.since + (nowS - run.pausedAt), pausedAt: null };
