/**
 * What goes where: results to standard output, progress and warnings to standard error; progress only where
 * a person watches a terminal.
 */
import { describeProblem, type Problem } from '../kit/outcome.ts';
import type { Control, Progress } from '../kit/control.ts';

export interface Terminal {
  /** Results. */
  print(text: string): void;
  /** Warnings and remarks. */
  say(text: string): void;
  warn(problem: Problem): void;
  control: Control;
  /** Wipes the progress line. */
  settle(): void;
}

const BAR = 24;
const REDRAW_MS = 80;

function bar(progress: Progress): string {
  const filled = Math.round(Math.min(1, Math.max(0, progress.share)) * BAR);
  const percent = `${Math.floor(progress.share * 100)}`.padStart(3);
  return `${'='.repeat(filled)}${'.'.repeat(BAR - filled)} ${percent} %  ${progress.note}`;
}

export function createTerminal(): Terminal {
  const watched = process.stderr.isTTY === true;
  let shown = false;
  let lastMs = 0;
  const settle = (): void => {
    if (shown) process.stderr.write('\r\x1b[K');
    shown = false;
  };
  const onProgress = (progress: Progress): void => {
    const now = Date.now();
    if (now - lastMs < REDRAW_MS) return;
    lastMs = now;
    shown = true;
    const width = (process.stderr.columns ?? 80) - 1;
    process.stderr.write(`\r\x1b[K${bar(progress).slice(0, width)}`);
  };
  const say = (text: string): void => {
    settle();
    process.stderr.write(`${text}\n`);
  };
  return {
    print: (text) => {
      settle();
      process.stdout.write(`${text}\n`);
    },
    say,
    warn: (problem) => say(describeProblem(problem)),
    control: { breathe: () => new Promise((done) => setImmediate(done)), ...(watched ? { onProgress } : {}) },
    settle,
  };
}
