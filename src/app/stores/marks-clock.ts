/** Between the marks' clock and the capture's: capture time = mark time + offset, with the origin taken off epoch stamps. */
import type { Mark, MarkFile } from '../../actions/types.ts';
import type { CaptureSummary } from '../../jobs/engine-types.ts';
import type { Dossier, DossierCapture, DossierMark } from '../../jobs/dossier.ts';

export interface MarksClock {
  /** Added to a mark's time gives the time on the ruler. */
  readonly shiftS: number;
}

/**
 * `foundOffsetS`: what the link analysis found, or null. Without a recording the ruler starts at the first mark.
 * Two clocks that share no zero (a file from 1970 against one from some start) are laid first mark on first frame.
 */
export function marksClock(
  capture: DossierCapture,
  summary: CaptureSummary | null,
  foundOffsetS: number | null,
): MarksClock {
  const first = capture.marks.reduce((least, mark) => Math.min(least, mark.startS), Infinity);
  const start = Number.isFinite(first) ? first : 0;
  if (!summary) return { shiftS: capture.markTimeBase === 'epoch' ? -start : 0 };
  const offset = capture.markOffset === 'auto' ? (foundOffsetS ?? 0) : capture.markOffset;
  if (capture.markTimeBase === 'capture') return { shiftS: offset };
  if (summary.origin.kind === 'epoch') return { shiftS: offset - Number(summary.origin.text) };
  return { shiftS: offset - start };
}

/** A mark where it stands on the ruler. */
export const onRuler = <M extends Mark>(mark: M, { shiftS }: MarksClock): M => ({
  ...mark,
  startS: mark.startS + shiftS,
  endS: mark.endS === null ? null : mark.endS + shiftS,
});

export const markFile = (capture: DossierCapture): MarkFile => ({
  timeBase: capture.markTimeBase,
  marks: capture.marks.map(({ action, startS, endS, value, note }) => ({ action, startS, endS, value, note })),
});

/** Actions in the order of their tracks: those of the dossier, then any that only marks know. */
export function actionsOf(dossier: Dossier, marks: readonly DossierMark[]): readonly string[] {
  return [...new Set([...dossier.actions, ...marks.map(({ action }) => action)])];
}
