/**
 * Long work in steps: a finder yields how many rows it has read since, so that whoever runs it can let waiting messages
 * in between, or run it through. The finders themselves know no clock.
 */
import { checkpoint, type Control } from '../kit/control.ts';

/** Yields rows read since the last step. */
export type Steps<T> = Generator<number, T, void>;

/** Runs all steps at once. */
export function runThrough<T>(steps: Steps<T>): T {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

/** Rows read between two pauses: some 10 ms of work. */
const ROWS_PER_PAUSE = 1_000_000;

/** Runs the steps with a pause now and then. share, note: what is reported at each pause. */
export async function runInSteps<T>(steps: Steps<T>, control: Control, share: number, note: string): Promise<T> {
  let rows = 0;
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
    rows += step.value;
    if (rows < ROWS_PER_PAUSE) continue;
    rows = 0;
    await checkpoint(control, share, note);
  }
}
