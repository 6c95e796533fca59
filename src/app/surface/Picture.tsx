/**
 * A picture on a canvas: measured, sharp at the screen's density, redrawn in an animation frame and
 * only when its scene, the theme or its size has changed. Behind it stands its table.
 */
import { useEffect, useLayoutEffect, useRef, useState, type ReactNode } from 'react';
import { usePalette } from '../theme/palette.ts';
import { canvasSurface } from './canvas-surface.ts';
import type { Scene } from '../../kit/drawing/surface.ts';

export interface PictureProps {
  /** What it shows, for those who cannot see it; empty for mere decoration of words beside it. */
  readonly label: string;
  /** CSS pixels; the width is that of the place it stands in. */
  readonly height: number;
  /** Keep its identity (useCallback) while nothing it draws has changed. */
  readonly scene: Scene;
  /** The same content as a table, read out by screen readers. */
  readonly table?: ReactNode;
  readonly className?: string;
}

function useWidth(): [(element: HTMLElement | null) => void, number] {
  const [element, setElement] = useState<HTMLElement | null>(null);
  const [width, setWidth] = useState(0);
  useLayoutEffect(() => {
    if (!element) return;
    setWidth(element.clientWidth);
    const watch = new ResizeObserver(() => setWidth(element.clientWidth));
    watch.observe(element);
    return () => watch.disconnect();
  }, [element]);
  return [setElement, width];
}

export function Picture({ label, height, scene, table, className }: PictureProps): ReactNode {
  const [holder, width] = useWidth();
  const canvas = useRef<HTMLCanvasElement>(null);
  const palette = usePalette();
  useEffect(() => {
    if (!width) return;
    const frame = requestAnimationFrame(() => {
      if (canvas.current) paint(canvas.current, width, height, scene, palette);
    });
    return () => cancelAnimationFrame(frame);
  }, [width, height, scene, palette]);
  return (
    <div ref={holder} className={`picture ${className ?? ''}`} style={{ height }}>
      <canvas ref={canvas} {...(label ? { role: 'img', 'aria-label': label } : { 'aria-hidden': true })} />
      {table && <div className="unseen">{table}</div>}
    </div>
  );
}

function paint(
  canvas: HTMLCanvasElement,
  width: number,
  height: number,
  scene: Scene,
  palette: Parameters<Scene>[1],
): void {
  const density = window.devicePixelRatio || 1;
  canvas.width = Math.round(width * density);
  canvas.height = Math.round(height * density);
  canvas.style.width = `${width}px`;
  canvas.style.height = `${height}px`;
  const context = canvas.getContext('2d');
  if (!context) return;
  context.scale(density, density);
  scene(canvasSurface(context, { width, height }, palette), palette);
}
