/**
 * A track an action. One stop for the keyboard: up and down choose the action, left and right its marks. With the pointer
 * a mark is dragged by its body, and by its ends once it is selected.
 */
import { useMemo, useRef, type KeyboardEvent, type ReactNode } from 'react';
import type { DossierMark } from '../../../jobs/dossier.ts';
import { swatchScene, TRACK_HEIGHT, trackScene } from '../../pictures/marks.ts';
import { timeScale, useTimeScale } from '../../shell/time-scale.ts';
import { useRulerMarks, type RulerMarks } from '../../stores/asking.ts';
import { fromRuler } from '../../stores/marks-clock.ts';
import { editMark } from '../../stores/marks-edits.ts';
import { useView } from '../../stores/view.ts';
import { Picture } from '../../surface/Picture.tsx';
import { clock as clockWords, plural } from '../../../kit/sheet-figures.ts';
import { edgeToCursor, nudge, removeSelected } from './commands.ts';
import { ACTION_KEYS } from './keys.ts';
import { useUntold } from './UntoldPart.tsx';

export function Tracks(): ReactNode {
  const ruler = useRulerMarks();
  const untold = useUntold();
  const selection = useView((view) => view.selection);
  const onKeyDown = (event: KeyboardEvent): void => {
    if (event.target !== event.currentTarget) return;
    if (changeMark(event, ruler) || moveSelection(event.key, ruler)) event.preventDefault();
  };
  const held = ruler.marks.some(({ key }) => key === selection.mark) ? `mark-${selection.mark}` : undefined;
  return (
    <div
      className="tracks"
      role="grid"
      tabIndex={0}
      aria-label="Marks by action: arrows choose, Delete removes, Enter edits"
      aria-activedescendant={held}
      onKeyDown={onKeyDown}
    >
      {ruler.actions.map((action, index) => (
        <Track key={action} action={action} index={index} ruler={ruler} open={untold.get(action)?.short ?? ''} />
      ))}
    </div>
  );
}

function moveSelection(key: string, { actions, marks }: RulerMarks): boolean {
  const { selection, select, reveal } = useView.getState();
  const at = selection.action === null ? -1 : actions.indexOf(selection.action);
  const choose = (mark: DossierMark | undefined): void => {
    if (!mark) return;
    select({ mark: mark.key, action: mark.action });
    reveal(mark.startS);
  };
  if (key === 'ArrowUp' || key === 'ArrowDown') {
    const next = actions[Math.min(actions.length - 1, Math.max(0, at + (key === 'ArrowUp' ? -1 : 1)))];
    if (next !== undefined) select({ action: next, mark: null });
    return true;
  }
  if (key !== 'ArrowLeft' && key !== 'ArrowRight') return false;
  const own = marks.filter(({ action }) => action === (selection.action ?? actions[0]));
  const place = own.findIndex((mark) => mark.key === selection.mark);
  const { fromS } = useView.getState().window;
  const first = own.findIndex(({ startS }) => startS >= fromS);
  choose(
    own[place < 0 ? Math.max(0, first) : Math.min(own.length - 1, Math.max(0, place + (key === 'ArrowLeft' ? -1 : 1)))],
  );
  return true;
}

function changeMark(event: KeyboardEvent, ruler: RulerMarks): boolean {
  const { window, timeWidth, selection } = useView.getState();
  if (selection.mark === null) return false;
  const pixelS = (window.toS - window.fromS) / (timeWidth || 1);
  const by = { 'Shift+ArrowLeft': -pixelS, 'Shift+ArrowRight': pixelS }[
    `${event.shiftKey ? 'Shift+' : ''}${event.key}`
  ];
  if (by !== undefined) nudge(by, 'both');
  else if (event.key === 'Delete' || event.key === 'Backspace') removeSelected();
  else if (event.key === '[') edgeToCursor('startS', ruler);
  else if (event.key === ']') edgeToCursor('endS', ruler);
  else if (event.key === 'Enter') document.getElementById('mark-start')?.focus();
  else return false;
  return true;
}

interface TrackProps {
  readonly action: string;
  readonly index: number;
  readonly ruler: RulerMarks;
  /** What the recording leaves open about it. */
  readonly open: string;
}

function Track({ action, index, ruler, open }: TrackProps): ReactNode {
  const window = useView((view) => view.window);
  const selected = useView((view) => view.selection.action === action);
  const own = useMemo(() => ruler.marks.filter((mark) => mark.action === action), [ruler.marks, action]);
  const scene = useMemo(() => trackScene(own, index, window), [own, index, window]);
  const swatch = useMemo(() => swatchScene(index), [index]);
  const key = ACTION_KEYS[index];
  const inView = own.filter((mark) => (mark.endS ?? mark.startS) >= window.fromS && mark.startS <= window.toS);
  return (
    <div role="row" className={`row track ${selected ? 'selected' : ''}`} aria-selected={selected}>
      <div role="rowheader">
        <button
          type="button"
          tabIndex={-1}
          className="track-name"
          onClick={() => useView.getState().select({ action, mark: null })}
        >
          <span className="swatch">
            <Picture label={`hatch of ${action}`} height={16} scene={swatch} />
          </span>
          <span className={`name ${open ? 'with-note' : ''}`}>
            {action}
            {open && <small>{open}</small>}
          </span>
          {key && <kbd>{key.toUpperCase()}</kbd>}
          <span className="dim">{own.length}</span>
        </button>
      </div>
      <div
        className="row-picture"
        role="gridcell"
        onClick={(event) =>
          event.target === event.currentTarget.querySelector('canvas') && useView.getState().select({ action })
        }
        aria-label={`${action}: ${plural(own.length, 'mark')}, ${inView.length} in view`}
      >
        <Picture label={`Track of ${action}`} height={TRACK_HEIGHT} scene={scene} />
        {inView.map((mark) => (
          <MarkGrip key={mark.key} mark={mark} ruler={ruler} />
        ))}
        {own.length > 0 && inView.length === 0 && <OutOfView marks={own} />}
      </div>
    </div>
  );
}

/** Marks that the view does not show: how many, and where the nearest is. */
function OutOfView({ marks }: { marks: readonly DossierMark[] }): ReactNode {
  const { window, domain, reveal, setCursor } = useView.getState();
  const before = marks.filter(({ startS }) => startS < window.fromS);
  const nearest = before.at(-1) ?? marks[0];
  if (!nearest) return null;
  if (nearest.startS < domain.fromS || nearest.startS > domain.toS)
    return (
      <span className="out-of-view tiny inferred">
        {plural(marks.length, 'mark')} outside the recording, nearest at {clockWords(nearest.startS, 1)}
      </span>
    );
  const go = (): void => {
    reveal(nearest.startS);
    setCursor(nearest.startS);
  };
  return (
    <button type="button" tabIndex={-1} className="button plain out-of-view tiny" onClick={go}>
      {before.length ? '← ' : '→ '}
      {plural(marks.length, 'mark')} outside the view, nearest at {clockWords(nearest.startS, 1)}
    </button>
  );
}

type Edge = 'both' | 'startS' | 'endS';

function MarkGrip({ mark, ruler }: { mark: DossierMark; ruler: RulerMarks }): ReactNode {
  const scale = useTimeScale();
  const selected = useView((view) => view.selection.mark === mark.key);
  const left = scale.x(mark.startS);
  const right = mark.endS === null ? left : scale.x(mark.endS);
  const words = `${mark.action}${mark.value ? ` ${mark.value}` : ''}, ${clockWords(mark.startS)}${mark.endS === null ? '' : ` to ${clockWords(mark.endS)}`}`;
  const instant = mark.endS === null;
  return (
    <div
      id={`mark-${mark.key}`}
      data-grip
      className={`mark ${selected ? 'selected' : ''} ${instant ? 'instant' : ''}`}
      role="button"
      aria-label={words}
      aria-pressed={selected}
      tabIndex={-1}
      style={instant ? { left: left - 8, width: 16 } : { left, width: Math.max(6, right - left) }}
      {...useDrag(mark, 'both', ruler)}
    >
      {selected && (
        <>
          <span className="bracket from" />
          <span className="bracket to" />
          {!instant && <EdgeGrip mark={mark} edge="startS" ruler={ruler} />}
          {!instant && <EdgeGrip mark={mark} edge="endS" ruler={ruler} />}
        </>
      )}
    </div>
  );
}

const EdgeGrip = ({
  mark,
  edge,
  ruler,
}: {
  mark: DossierMark;
  edge: 'startS' | 'endS';
  ruler: RulerMarks;
}): ReactNode => <span data-grip className={`edge ${edge}`} aria-hidden="true" {...useDrag(mark, edge, ruler)} />;

interface Drag {
  readonly x: number;
  readonly startS: number;
  readonly endS: number | null;
  moved: boolean;
}

function useDrag(
  mark: DossierMark,
  edge: Edge,
  { clock }: RulerMarks,
): Pick<React.DOMAttributes<HTMLElement>, 'onPointerDown' | 'onPointerMove' | 'onPointerUp'> {
  const drag = useRef<Drag | null>(null);
  return {
    onPointerDown: (event) => {
      if (event.button !== 0) return;
      event.stopPropagation();
      event.currentTarget.setPointerCapture(event.pointerId);
      drag.current = {
        x: event.clientX,
        startS: fromRuler(mark.startS, clock),
        endS: mark.endS === null ? null : fromRuler(mark.endS, clock),
        moved: false,
      };
      useView.getState().select({ mark: mark.key, action: mark.action });
      document.querySelector<HTMLElement>('.tracks')?.focus({ preventScroll: true });
    },
    onPointerMove: (event) => {
      const { current } = drag;
      const { captureId, window, timeWidth } = useView.getState();
      if (!current || captureId === null) return;
      if (!current.moved && Math.abs(event.clientX - current.x) < 3) return;
      current.moved = true;
      const scale = timeScale(window, timeWidth);
      const byS = scale.at(event.clientX - current.x) - scale.at(0);
      const part = {
        ...(edge !== 'endS' ? { startS: current.startS + byS } : {}),
        ...(edge !== 'startS' && current.endS !== null ? { endS: current.endS + byS } : {}),
      };
      editMark(captureId, mark.key, part, `drag-${mark.key}-${event.pointerId}-${current.x}`);
    },
    onPointerUp: () => {
      const { current } = drag;
      drag.current = null;
      if (current && !current.moved) useView.getState().setCursor(mark.startS);
    },
  };
}
