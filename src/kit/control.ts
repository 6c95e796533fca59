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
