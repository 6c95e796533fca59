/** Drives the run machine by this machine's clock and writes its marks into the dossier as they happen. */
import { useCallback, useEffect, useRef, useState } from 'react';
import { useDossier } from '../../../stores/dossier.ts';
import { addClockMark, deleteMark, editMark, unrecordedCapture } from '../../../stores/marks-edits.ts';
import { nowS } from '../commands.ts';
import { leftS, pause, press, resume, startRun, stepOf, tick, wentWrong, type Run, type RunEvent } from './machine.ts';
import { planOf, turnsOf } from './plan.ts';
import { tone } from './sound.ts';

export interface RunControl {
  readonly run: Run;
  readonly leftS: number;
  press(): void;
  wrong(): void;
  pauseOrResume(): void;
}

const TICK_MS = 100;

/** Keeps the screen of a phone on, where the browser can. */
function useWakefulScreen(): void {
  useEffect(() => {
    let lock: WakeLockSentinel | null = null;
    let over = false;
    void navigator.wakeLock
      ?.request('screen')
      .then((held) => {
        lock = held;
        if (over) void held.release();
      })
      .catch(() => undefined);
    return () => {
      over = true;
      void lock?.release();
    };
  }, []);
}

export function useRun(sound: boolean): RunControl {
  const [run, setRun] = useState<Run>(() => {
    const plan = planOf(useDossier.getState().dossier);
    return startRun(plan, turnsOf(plan, Math.floor(nowS())), nowS());
  });
  const [now, setNow] = useState(nowS);
  const latest = useRef(run);
  const captureId = useRef<string | null>(null);
  useWakefulScreen();
  const take = useCallback((next: Run): void => {
    latest.current = next;
    setRun(next);
  }, []);
  useEffect(() => {
    const timer = setInterval(() => {
      const at = nowS();
      const before = latest.current;
      const next = tick(before, at);
      if (sound) soundFor(before, next, at);
      if (next !== before) take(next);
      setNow(at);
    }, TICK_MS);
    return () => clearInterval(timer);
  }, [sound, take]);
  const write = (event: RunEvent, of: Run, at: number): string | null => {
    captureId.current ??= unrecordedCapture();
    const id = captureId.current;
    const { action = '', value } = stepOf(of) ?? {};
    if (event === 'start-mark' || event === 'instant-mark')
      return addClockMark(id, { action, startS: at, endS: null, ...(value ? { value } : {}) });
    if (event === 'end-mark' && of.lastMark) editMark(id, of.lastMark, { endS: at });
    if (event === 'drop-mark' && of.lastMark) deleteMark(id, of.lastMark);
    return event === 'drop-mark' ? null : of.lastMark;
  };
  const act = (change: typeof press): void => {
    const at = nowS();
    const before = latest.current;
    const { run: next, event } = change(before, at);
    if (event === null) return;
    take({ ...next, lastMark: write(event, before, at) });
  };
  return {
    run,
    leftS: leftS(run, now),
    press: () => act(press),
    wrong: () => act(wentWrong),
    pauseOrResume: () => take(run.pausedAt === null ? pause(latest.current, nowS()) : resume(latest.current, nowS())),
  };
}

function soundFor(before: Run, after: Run, nowS: number): void {
  if (before.phase === 'rest' && after.phase === 'cue') tone(880, 0.35);
  if (after.phase !== 'hold' || after.pausedAt !== null) return;
  const left = leftS(after, nowS);
  const earlier = left + TICK_MS / 1000;
  if (left <= 3 && left > -0.1 && Math.ceil(left) !== Math.ceil(earlier)) tone(Math.ceil(left) === 0 ? 660 : 440, 0.15);
}
