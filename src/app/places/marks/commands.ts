/** What keys and buttons of Marks do. They read the stores when pressed, so that they need no rebinding. */
import { parseMarks, printMarks } from '../../../actions/marks.ts';
import { describeProblem } from '../../../kit/outcome.ts';
import { fileStem, pickFiles, saveAs } from '../../shell/files.ts';
import { say } from '../../shell/notices.ts';
import type { RulerMarks } from '../../stores/asking.ts';
import { findOpen } from '../../stores/captures.ts';
import { useDossier } from '../../stores/dossier.ts';
import { fromRuler, markFile } from '../../stores/marks-clock.ts';
import {
  addClockMark,
  addMark,
  deleteMark,
  editMark,
  importMarks,
  unrecordedCapture,
} from '../../stores/marks-edits.ts';
import { useView } from '../../stores/view.ts';
import { useMarksPlace } from './store.ts';

const USUAL_ACTION = 'accelerator pressed';

const hasRecording = (): boolean => findOpen(useView.getState().captureId)?.phase === 'ready';

/** Marks the action now: at the cursor where a recording is open, by this machine's clock where none is. The second time ends it. */
export function markNow(action: string, ruler: RulerMarks): void {
  if (hasRecording()) markAtCursor(action, ruler);
  else markByClock(action);
}

function markAtCursor(action: string, { marks, clock }: RulerMarks): void {
  const { captureId, cursorS, window, select, setCursor } = useView.getState();
  if (captureId === null) return;
  if (cursorS === null) {
    setCursor((window.fromS + window.toS) / 2);
    return say('The cursor stands in the middle now: move it with the arrows or a click, then mark.');
  }
  const { openMark, setOpenMark } = useMarksPlace.getState();
  const open = marks.find((mark) => mark.key === openMark);
  if (open && open.action === action && open.endS === null && Math.abs(open.startS - cursorS) > 1e-4) {
    editMark(captureId, open.key, { endS: fromRuler(cursorS, clock) });
    setOpenMark(null);
    return;
  }
  const key = addMark(captureId, action, cursorS, clock);
  setOpenMark(key);
  select({ mark: key, action });
}

const nowS = (): number => (performance.timeOrigin + performance.now()) / 1000;

function markByClock(action: string): void {
  const id = unrecordedCapture();
  const { openMark, setOpenMark } = useMarksPlace.getState();
  const capture = useDossier.getState().dossier.captures.find((entry) => entry.id === id);
  const open = capture?.marks.find((mark) => mark.key === openMark);
  if (open && open.action === action && open.endS === null) {
    editMark(id, open.key, { endS: nowS() });
    setOpenMark(null);
    return;
  }
  const key = addClockMark(id, { action, startS: nowS(), endS: null });
  setOpenMark(key);
  useView.getState().select({ mark: key, action });
}

/** A button that was held down: the span of holding, or an instant where it was a tap. */
export function markHeld(action: string, fromS: number, toS: number): void {
  const id = unrecordedCapture();
  const key = addClockMark(id, { action, startS: fromS, endS: toS });
  useView.getState().select({ mark: key, action });
}
export { nowS };

export const actionToMark = ({ actions }: RulerMarks): string =>
  useView.getState().selection.action ?? actions[0] ?? USUAL_ACTION;

export function removeSelected(): void {
  const { captureId, selection, select } = useView.getState();
  if (captureId === null || selection.mark === null) return;
  deleteMark(captureId, selection.mark);
  select({ mark: null });
}

/** Moves the selected mark, or one of its edges, by seconds. */
export function nudge(byS: number, edge: 'both' | 'startS' | 'endS'): void {
  const { captureId, selection } = useView.getState();
  const capture = useDossier.getState().dossier.captures.find(({ id }) => id === captureId);
  const mark = capture?.marks.find(({ key }) => key === selection.mark);
  if (!captureId || !mark) return;
  const part = {
    ...(edge !== 'endS' ? { startS: mark.startS + byS } : {}),
    ...(edge !== 'startS' && mark.endS !== null ? { endS: mark.endS + byS } : {}),
  };
  editMark(captureId, mark.key, part, `nudge-${mark.key}-${edge}`);
}

/** Sets an edge of the selected mark to the cursor. */
export function edgeToCursor(edge: 'startS' | 'endS', { clock }: RulerMarks): void {
  const { captureId, selection, cursorS } = useView.getState();
  if (captureId && selection.mark && cursorS !== null)
    editMark(captureId, selection.mark, { [edge]: fromRuler(cursorS, clock) });
}

export async function importFile(): Promise<void> {
  const [file] = await pickFiles('.csv,.json,.txt', false);
  if (!file) return;
  const parsed = parseMarks(await file.text(), file.name);
  if (!parsed.ok) return say(parsed.problems.slice(0, 3).map(describeProblem).join(' '));
  const id = useView.getState().captureId ?? unrecordedCapture();
  const problem = importMarks(id, file.name, parsed.value);
  const warned = parsed.warnings.length ? ` ${parsed.warnings.slice(0, 2).map(describeProblem).join(' ')}` : '';
  say(problem ?? `${parsed.value.marks.length} marks taken from ${file.name}.${warned}`);
}

export function exportFile(): void {
  const { captureId } = useView.getState();
  const capture = useDossier.getState().dossier.captures.find(({ id }) => id === captureId);
  if (!capture?.marks.length) return say('There are no marks to export yet.');
  saveAs(`${fileStem(capture.title, 'capture')}-marks.csv`, printMarks(markFile(capture).marks), 'text/csv');
}
