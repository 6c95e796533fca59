/**
 * Long sums as steps: a pure function written as a generator that yields about every few milliseconds of work. A test runs
 * it to its end; the engine lets waiting messages in between two steps.
 */
import type { Control } from '../../kit/control.ts';
import { Cancelled } from '../../kit/control.ts';

export type Steps<T> = Generator<undefined, T, undefined>;

export function runSteps<T>(steps: Steps<T>): T {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

/** @throws Cancelled when asked to stop between two steps. */
export async function walkSteps<T>(steps: Steps<T>, control: Control): Promise<T> {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
    if (control.breathe) await control.breathe();
    if (control.signal?.aborted) throw new Cancelled();
  }
}
