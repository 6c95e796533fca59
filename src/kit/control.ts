/**
 * How a long computation is watched and ended. Floors 0 to 5 know no clock and no event loop: the
 * caller passes these in, so the same code runs in a browser worker, a worker thread and a test.
 */
export interface Progress {
  /** 0..1, never falling within one job. */
  readonly share: number;
  /** What is being done now, for a person: "reading drive.log". */
  readonly note: string;
}

/** Structural, so that a platform's AbortSignal fits. */
export interface StopSignal {
  readonly aborted: boolean;
}

export interface Control {
  readonly signal?: StopSignal;
  readonly onProgress?: (progress: Progress) => void;
  /** Lets waiting messages in; called between slices of work of about 8 ms. */
  readonly breathe?: () => Promise<void>;
}

export class Cancelled extends Error {
  override readonly name = 'Cancelled';
  constructor() {
    super('stopped on request');
  }
}

/** Reports progress, lets messages in, and throws Cancelled when asked to stop. */
export async function checkpoint(control: Control, share: number, note: string): Promise<void> {
  if (control.signal?.aborted) throw new Cancelled();
  control.onProgress?.({ share, note });
  if (control.breathe) await control.breathe();
  if (control.signal?.aborted) throw new Cancelled();
}

/** A control whose 0..1 fills the part from..to of the given one. */
export function part(control: Control, from: number, to: number): Control {
  const { onProgress } = control;
  if (!onProgress) return control;
  return { ...control, onProgress: ({ share, note }) => onProgress({ share: from + (to - from) * share, note }) };
}

/**
 * Controls for what is done side by side: each fills its own 0..1, all of them, weighed, that of the given one. The note is that of the first
 * that is not done yet.
 */
export function sideBySide(control: Control, weights: readonly number[]): readonly Control[] {
  const { onProgress } = control;
  if (!onProgress) return weights.map(() => control);
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const reached = weights.map(() => ({ share: 0, note: '' }));
  const tell = (): void => {
    const share = reached.reduce((sum, each, i) => sum + each.share * ((weights[i] as number) / total), 0);
    const first = reached.find((each) => each.share < 1 && each.note !== '');
    onProgress({ share: Math.min(1, share), note: (first ?? (reached.at(-1) as Progress)).note });
  };
  return weights.map((_, i) => ({
    ...control,
    onProgress: ({ share, note }) => {
      reached[i] = { share: Math.max(share, (reached[i] as Progress).share), note };
      tell();
    },
  }));
}
