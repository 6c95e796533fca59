/** Which span marked at rest is sent from: those of the open capture, and the one that the person chose, kept in the dossier with undo. */
import { useMemo } from 'react';
import { z } from 'zod';
import { restMarks, type RestMark } from '../../../../handover/sending/rest-spans.ts';
import type { Mark } from '../../../../actions/types.ts';
import { useRulerMarks } from '../../../stores/asking.ts';
import { useDossier } from '../../../stores/dossier.ts';
import { useCurrentCapture } from '../../../stores/finding.ts';
import { plainMarks } from '../../../stores/marks-clock.ts';

const keptSchema = z.looseObject({ capture: z.string(), action: z.string(), number: z.number().int().min(1) });
type KeptSpan = z.infer<typeof keptSchema>;

export const spanName = ({ action, number }: Pick<RestMark, 'action' | 'number'>): string => `${action}#${number}`;

export function keepSpan(capture: string, { action, number }: RestMark): void {
  useDossier.getState().change(`send from “${action}”`, (dossier) => ({
    ...dossier,
    atRest: { capture, action, number },
  }));
}

/** The one that was chosen, as long as it may be taken; else the first that may. */
export function chosenSpan(spans: readonly RestMark[], kept: KeptSpan | null, capture: string): RestMark | null {
  const free = spans.filter(({ refused }) => refused === null);
  const isKept = ({ action, number }: RestMark): boolean =>
    kept?.capture === capture && kept.action === action && kept.number === number;
  return free.find(isKept) ?? free[0] ?? null;
}

export interface Spans {
  readonly capture: string;
  readonly title: string;
  readonly spans: readonly RestMark[];
  readonly chosen: RestMark | null;
  /** False: it is not known where the marks stand on the capture, and for sending that is not guessed. */
  readonly clockKnown: boolean;
  /** Marks of any kind. */
  readonly marked: number;
  readonly marks: readonly Mark[];
}

let steady: { readonly text: string; readonly marks: readonly Mark[] } | null = null;
/** The same array as long as it says the same: a job is not asked anew for nothing. */
function steadyMarks(marks: readonly Mark[]): readonly Mark[] {
  const text = JSON.stringify(marks);
  if (steady?.text !== text) steady = { text, marks };
  return steady.marks;
}

/** null before a capture has been read. */
export function useSpans(): Spans | null {
  const current = useCurrentCapture();
  const { marks, clockKnown } = useRulerMarks();
  const kept = useDossier(({ dossier }) => dossier['atRest']);
  const plain = steadyMarks(useMemo(() => plainMarks(marks), [marks]));
  const durationS = current?.open.summary?.durationS ?? null;
  const id = current?.entry.id;
  const title = current?.entry.title ?? '';
  return useMemo(() => {
    if (id === undefined || durationS === null) return null;
    const spans = clockKnown ? restMarks(plain, durationS) : [];
    const chosen = chosenSpan(spans, keptSchema.safeParse(kept).data ?? null, id);
    return { capture: id, title, spans, chosen, clockKnown, marked: plain.length, marks: plain };
  }, [id, title, durationS, plain, clockKnown, kept]);
}
