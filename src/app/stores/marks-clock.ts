/** Between the marks' clock and the capture's: capture time = mark time + offset, with the origin taken off epoch stamps. */
import { sharesClock } from '../../actions/clock.ts';
import { straightened, unstraightened } from '../../actions/drift.ts';
import { movedMark } from '../../actions/marks.ts';
import type { Drift, Mark, MarkFile, OffsetFinding } from '../../actions/types.ts';
import type { CaptureSummary } from '../../jobs/engine-types.ts';
import type { Dossier, DossierCapture, DossierMark } from '../../jobs/dossier.ts';

export interface MarksClock {
  /** Added to a mark's time gives the time on the ruler, but for the drift. */
  readonly shiftS: number;
  /** How the marks' clock runs against the ruler; null where they keep step. */
  readonly drift: Drift | null;
}

/** Where a mark's time stands on the ruler, and the other way round. */
export const toRuler = (atS: number, { shiftS, drift }: MarksClock): number =>
  drift ? straightened(atS + shiftS, drift) : atS + shiftS;
export const fromRuler = (atS: number, { shiftS, drift }: MarksClock): number =>
  (drift ? unstraightened(atS, drift) : atS) - shiftS;

/**
 * `found`: what the link analysis told, or null. Without a recording the ruler starts at the first mark.
 * Two clocks that share no zero (marks from 1970, a capture from some start of its own) are laid first mark on first
 * frame until an offset is known; that offset then holds all of the difference.
 */
export function marksClock(
  capture: Pick<DossierCapture, 'marks' | 'markTimeBase' | 'markOffset'>,
  summary: CaptureSummary | null,
  found: Pick<OffsetFinding, 'offsetS' | 'drift'> | null,
): MarksClock {
  return { shiftS: shiftOf(capture, summary, found?.offsetS ?? null), drift: found?.drift ?? null };
}

function shiftOf(
  capture: Pick<DossierCapture, 'marks' | 'markTimeBase' | 'markOffset'>,
  summary: CaptureSummary | null,
  foundOffsetS: number | null,
): number {
  const first = capture.marks.reduce((least, mark) => Math.min(least, mark.startS), Infinity);
  const start = Number.isFinite(first) ? first : 0;
  if (!summary) return capture.markTimeBase === 'epoch' ? -start : 0;
  const offset = capture.markOffset === 'auto' ? foundOffsetS : capture.markOffset;
  if (capture.markTimeBase === 'capture') return offset ?? 0;
  if (sharesClock('epoch', summary.origin)) return (offset ?? 0) - Number(summary.origin.text);
  return offset ?? -start;
}

/** A mark where it stands on the ruler. */
export const onRuler = <M extends Mark>(mark: M, clock: MarksClock): M => movedMark(mark, (atS) => toRuler(atS, clock));

/** Thousandths of a second. */
const rounded = (s: number): number => Math.round(s * 1000) / 1000;

/** Marks as jobs are asked about them: one that moved by less than a thousandth of a second is the same. */
export const plainMarks = (
  marks: readonly Pick<Mark, 'action' | 'startS' | 'endS' | 'value'>[],
): { action: string; startS: number; endS: number | null; value?: string }[] =>
  marks.map(({ action, startS, endS, value }) => ({
    action,
    startS: rounded(startS),
    endS: endS === null ? null : rounded(endS),
    ...(value ? { value } : {}),
  }));

export const markFile = (capture: Pick<DossierCapture, 'marks' | 'markTimeBase'>): MarkFile => ({
  timeBase: capture.markTimeBase,
  marks: capture.marks.map(({ action, startS, endS, value, note }) => ({ action, startS, endS, value, note })),
});

/** Actions in the order of their tracks: those of the dossier, then any that only marks know. */
export function actionsOf(dossier: Dossier, marks: readonly DossierMark[]): readonly string[] {
  return [...new Set([...dossier.actions, ...marks.map(({ action }) => action)])];
}
