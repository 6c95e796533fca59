/**
 * What can be done to marks and actions by hand. Times come in as the ruler shows them and are kept
 * on the marks' own clock. Without a recording, marks are stamped by this machine's clock and wait for theirs.
 */
import type { Mark, MarkFile } from '../../actions/types.ts';
import type { Dossier, DossierCapture, DossierMark } from '../../jobs/dossier.ts';
import { blankCapture, findOpen, useCaptures } from './captures.ts';
import { freeCaptureId, newCapture, useDossier, withCapture } from './dossier.ts';
import { fromRuler, type MarksClock } from './marks-clock.ts';
import { useView } from './view.ts';

let made = 0;
/** Unlike any other in the dossier, also after a reload. */
const newMarkKey = (): string => `m${Date.now().toString(36)}.${(made++).toString(36)}`;

const withMarks = (dossier: Dossier, id: string, recipe: (marks: DossierMark[]) => DossierMark[]): Dossier =>
  withCapture(dossier, id, (capture) => ({ ...capture, marks: recipe(capture.marks) }));

const knowing = (dossier: Dossier, action: string): Dossier =>
  dossier.actions.includes(action) ? dossier : { ...dossier, actions: [...dossier.actions, action] };

const { change } = useDossier.getState();

/** A mark at an instant of the ruler; returns its key. Marks made on the capture's own ruler need no search for an offset. */
export function addMark(
  captureId: string,
  action: string,
  atS: number,
  clock: MarksClock,
  endS: number | null = null,
): string {
  const key = newMarkKey();
  const mark: DossierMark = {
    key,
    action,
    startS: fromRuler(atS, clock),
    endS: endS === null ? null : fromRuler(endS, clock),
  };
  change(`mark ${action}`, (dossier) =>
    withCapture(knowing(dossier, action), captureId, (capture): DossierCapture => ({
      ...capture,
      markOffset: capture.marks.length === 0 && capture.markTimeBase === 'capture' ? 0 : capture.markOffset,
      marks: [...capture.marks, mark],
    })),
  );
  return key;
}

export type MarkPart = Partial<Pick<DossierMark, 'action' | 'startS' | 'endS' | 'value' | 'note'>>;

/** Times in `part` are on the marks' clock. Start and end change places where they would cross. */
export function editMark(captureId: string, key: string, part: MarkPart, strand?: string): void {
  change(
    'edit mark',
    (dossier) => {
      const edited = withMarks(dossier, captureId, (marks) =>
        marks.map((mark) => (mark.key === key ? inOrder({ ...mark, ...part }) : mark)),
      );
      return part.action === undefined ? edited : knowing(edited, part.action);
    },
    strand,
  );
}

function inOrder(mark: DossierMark): DossierMark {
  if (mark.endS === null || mark.endS >= mark.startS) return mark;
  return { ...mark, startS: mark.endS, endS: mark.startS };
}

export const deleteMark = (captureId: string, key: string): void =>
  change('delete mark', (dossier) =>
    withMarks(dossier, captureId, (marks) => marks.filter((mark) => mark.key !== key)),
  );

export const addAction = (action: string): void => change('new action', (dossier) => knowing(dossier, action));

/** The name changes in every capture: an action is the same one everywhere. */
export function renameAction(from: string, to: string): void {
  if (!to.trim() || from === to) return;
  change('rename action', (dossier) => ({
    ...dossier,
    actions: [...new Set(dossier.actions.map((action) => (action === from ? to : action)))],
    captures: dossier.captures.map((capture) => ({
      ...capture,
      marks: capture.marks.map((mark) => (mark.action === from ? { ...mark, action: to } : mark)),
    })),
  }));
}

/** Takes the action out, and its marks in every capture with it; one step to undo. */
export function deleteAction(action: string): void {
  change('delete action', (dossier) => ({
    ...dossier,
    actions: dossier.actions.filter((other) => other !== action),
    captures: dossier.captures.map((capture) => ({
      ...capture,
      marks: capture.marks.filter((mark) => mark.action !== action),
    })),
  }));
}

export const setOffset = (captureId: string, offset: 'auto' | number): void =>
  change(
    'set clock offset',
    (dossier) => withCapture(dossier, captureId, (capture) => ({ ...capture, markOffset: offset })),
    `offset-${captureId}`,
  );

/** The capture that takes marks by this machine's clock: the open one if it has no recording, else a new one. Returns its id. */
export function unrecordedCapture(): string {
  const { captureId } = useView.getState();
  if (captureId && findOpen(captureId)?.phase === 'unrecorded') return captureId;
  const id = freeCaptureId(useDossier.getState().dossier);
  const at = new Date().toLocaleString('en-GB', { day: 'numeric', month: 'short', hour: '2-digit', minute: '2-digit' });
  const entry: DossierCapture = { ...newCapture(id, `Marks of ${at}`, 'main'), markTimeBase: 'epoch' };
  change('begin marks', (dossier) => ({ ...dossier, captures: [...dossier.captures, entry] }));
  useCaptures.getState().put(blankCapture(id, 'unrecorded'));
  useView.getState().openCapture(id);
  return id;
}

/** A mark stamped by a clock: seconds since 1970. */
export function addClockMark(captureId: string, mark: Mark): string {
  const key = newMarkKey();
  change(`mark ${mark.action}`, (dossier) =>
    withMarks(knowing(dossier, mark.action), captureId, (marks) => [...marks, { key, ...mark }]),
  );
  return key;
}

/**
 * Takes marks from a file into a capture. Null when done, else a sentence why it cannot be: two files on two
 * clocks can only be joined where it is known how these stand to each other.
 */
export function importMarks(captureId: string, name: string, file: MarkFile): string | null {
  const capture = useDossier.getState().dossier.captures.find(({ id }) => id === captureId);
  if (!capture) return 'There is no capture to take the marks.';
  if (capture.marks.length && capture.markTimeBase !== file.timeBase)
    return `${name} counts its seconds ${baseWords(file.timeBase)}, the marks that are here ${baseWords(capture.markTimeBase)}. Delete these first, or import into another capture.`;
  const marks = file.marks.map((mark): DossierMark => ({ ...mark, key: newMarkKey() }));
  change('import marks', (dossier) => {
    const known = marks.reduce((sum, { action }) => knowing(sum, action), dossier);
    return withCapture(known, captureId, (old): DossierCapture => ({
      ...old,
      markTimeBase: file.timeBase,
      markOffset: old.marks.length ? old.markOffset : 'auto',
      marks: [...old.marks, ...marks],
    }));
  });
  return null;
}
const baseWords = (base: MarkFile['timeBase']): string =>
  base === 'epoch' ? 'from 1970' : 'from the start of the capture';
