/**
 * What counts as shown: trials on a bench in which the frame was sent and nothing moved, on record in the frame's `sent` entries. One trial in
 * which something did move outweighs all others. That a frame was recorded, however often, shows nothing.
 */
import type { MapFrame } from '../../map/schema.ts';

/** One bench capture with the frame sent. */
export interface SentEntry {
  readonly kind: 'bench';
  readonly capture: string;
  /** Trials in it. */
  readonly trials: number;
  readonly moved: boolean;
}

const isSentEntry = (entry: unknown): entry is SentEntry => {
  const { kind, moved, trials } = (entry ?? {}) as Partial<Record<keyof SentEntry, unknown>>;
  return kind === 'bench' && typeof moved === 'boolean' && typeof trials === 'number' && trials > 0;
};

export function sentEntries(frame: MapFrame): readonly SentEntry[] {
  const { sent } = frame as { readonly sent?: unknown };
  return Array.isArray(sent) ? sent.filter(isSentEntry) : [];
}

export function shownHarmless(frame: MapFrame): boolean {
  const entries = sentEntries(frame);
  return entries.length > 0 && entries.every(({ moved }) => !moved);
}
