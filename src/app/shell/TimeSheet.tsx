/**
 * The part of a place that shares the ruler's time: rows with a label in the gutter and a picture in the time
 * column, the cursor through all of them, and the pointer: drag to move, wheel to zoom where the pointer is, click to set the cursor.
 */
import { useEffect, useRef, type PointerEvent as ReactPointerEvent, type ReactNode } from 'react';
import { useView } from '../stores/view.ts';
import { timeScale, useTimeScale } from './time-scale.ts';

const OWN_GESTURES = 'button, input, select, textarea, a, [data-grip]';
const CLICK_PIXELS = 4;

export interface TimeSheetProps {
  readonly children: ReactNode;
  readonly className?: string;
  /** Says what to do with a click beside setting the cursor. */
  readonly onClick?: (atS: number, event: ReactPointerEvent) => void;
}

export function TimeSheet({ children, className, onClick }: TimeSheetProps): ReactNode {
  const column = useRef<HTMLDivElement>(null);
  const root = useRef<HTMLDivElement>(null);
  const gesture = useTimeGestures(column, onClick);
  useWheel(root, column);
  return (
    <div ref={root} className={`time-sheet ${className ?? ''}`} {...gesture}>
      {children}
      <div ref={column} className="time-column" aria-hidden="true">
        <CursorLine />
      </div>
    </div>
  );
}

function CursorLine(): ReactNode {
  const cursorS = useView((view) => view.cursorS);
  const scale = useTimeScale();
  if (cursorS === null || cursorS < scale.fromS || cursorS > scale.toS) return null;
  return (
    <div className="cursor-line" style={{ left: `${((cursorS - scale.fromS) / (scale.toS - scale.fromS)) * 100}%` }} />
  );
}

interface Gesture {
  readonly startX: number;
  readonly window: { fromS: number; toS: number };
  moved: boolean;
}

export function useTimeGestures(
  column: React.RefObject<HTMLElement | null>,
  onClick?: (atS: number, event: ReactPointerEvent) => void,
): Pick<React.DOMAttributes<HTMLElement>, 'onPointerDown' | 'onPointerMove' | 'onPointerUp' | 'onPointerCancel'> {
  const fingers = useRef(new Map<number, number>());
  const drag = useRef<Gesture | null>(null);
  const begin = (): void => {
    const [first = 0, second] = [...fingers.current.values()];
    const { window } = useView.getState();
    drag.current = { startX: second === undefined ? first : (first + second) / 2, window, moved: second !== undefined };
    spread.current = second === undefined ? 0 : Math.abs(second - first);
  };
  const spread = useRef(0);
  const onPointerDown = (event: ReactPointerEvent): void => {
    const box = column.current?.getBoundingClientRect();
    if (!box || event.button !== 0 || event.clientX < box.left || event.clientX > box.right) return;
    if (event.target instanceof Element && event.target.closest(OWN_GESTURES)) return;
    fingers.current.set(event.pointerId, event.clientX);
    begin();
  };
  const onPointerMove = (event: ReactPointerEvent): void => {
    const box = column.current?.getBoundingClientRect();
    const { current } = drag;
    if (!box || !current || !fingers.current.has(event.pointerId)) return;
    fingers.current.set(event.pointerId, event.clientX);
    const [first = 0, second] = [...fingers.current.values()];
    if (!current.moved && Math.abs(first - current.startX) < CLICK_PIXELS) return;
    current.moved = true;
    (event.currentTarget as HTMLElement).setPointerCapture(event.pointerId);
    const before = timeScale(current.window, box.width);
    const factor = second === undefined || !spread.current ? 1 : spread.current / Math.max(8, Math.abs(second - first));
    const now = second === undefined ? first : (first + second) / 2;
    const held = before.at(current.startX - box.left);
    const length = (current.window.toS - current.window.fromS) * factor;
    const fromS = held - ((now - box.left) / box.width) * length;
    useView.getState().setWindow(fromS, fromS + length);
  };
  const end = (event: ReactPointerEvent): void => {
    if (!fingers.current.delete(event.pointerId)) return;
    const box = column.current?.getBoundingClientRect();
    const { current } = drag;
    if (fingers.current.size) return begin();
    drag.current = null;
    if (!box || !current || current.moved || event.type === 'pointercancel') return;
    const atS = timeScale(useView.getState().window, box.width).at(event.clientX - box.left);
    useView.getState().setCursor(atS);
    onClick?.(atS, event);
  };
  return { onPointerDown, onPointerMove, onPointerUp: end, onPointerCancel: end };
}

/** Wheel zooms at the pointer; sideways, or with Shift, it moves along. */
export function useWheel(root: React.RefObject<HTMLElement | null>, column: React.RefObject<HTMLElement | null>): void {
  useEffect(() => {
    const element = root.current;
    if (!element) return;
    const onWheel = (event: WheelEvent): void => {
      const box = column.current?.getBoundingClientRect();
      if (!box || event.clientX < box.left || event.clientX > box.right) return;
      event.preventDefault();
      const view = useView.getState();
      const scale = timeScale(view.window, box.width);
      const pixels = event.deltaMode === 1 ? 16 : 1;
      const sideways = event.shiftKey ? event.deltaY || event.deltaX : event.deltaX;
      if (event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY))
        view.pan((sideways * pixels * (scale.toS - scale.fromS)) / box.width);
      else view.zoom(Math.exp(event.deltaY * pixels * 0.0018), scale.at(event.clientX - box.left));
    };
    element.addEventListener('wheel', onWheel, { passive: false });
    return () => element.removeEventListener('wheel', onWheel);
  }, [root, column]);
}

/** One row: its label in the gutter (above the picture on a phone), its picture in the time column. */
export function Row({
  label,
  children,
  className,
}: {
  label: ReactNode;
  children: ReactNode;
  className?: string;
}): ReactNode {
  return (
    <div className={`row ${className ?? ''}`}>
      <div className="row-label">{label}</div>
      <div className="row-picture">{children}</div>
    </div>
  );
}
