/**
 * Hands on the threads: drag down to sweep, sideways to move in time (the sheet does that), click to hold what lies there; arrows
 * move from thread to thread, Shift sweeps, Enter holds, Escape lets go.
 */
import { useEffect, useRef, type KeyboardEvent, type PointerEvent as ReactPointerEvent } from 'react';
import { bitAtHeight, rowFor, type WeaveLayout } from '../../pictures/weave-layout.ts';
import { useView } from '../../stores/view.ts';
import { holdBand, letGo, type Held } from './held.ts';
import { usePayloads } from './store.ts';
import { limitSweep, stepThread } from './sweep.ts';
import { bandAt } from './weave-words.ts';

const DRAG_PIXELS = 4;

type Hands = Pick<
  React.DOMAttributes<HTMLElement>,
  'onPointerDown' | 'onPointerMove' | 'onPointerUp' | 'onPointerCancel' | 'onKeyDown'
>;

export function useThreadHands(held: Held, layout: WeaveLayout, root: React.RefObject<HTMLElement | null>): Hands {
  const start = useRef<{ x: number; y: number; bit: number; mode: 'undecided' | 'sweep' | 'time' } | null>(null);
  const bitUnder = (event: ReactPointerEvent): number =>
    bitAtHeight(layout, event.clientY - (root.current?.getBoundingClientRect().top ?? 0));
  useEffect(() => {
    usePayloads.getState().set({ thread: -1 });
  }, [layout.bytes]);
  return {
    onPointerDown: (event) => {
      if (event.button !== 0) return;
      start.current = { x: event.clientX, y: event.clientY, bit: bitUnder(event), mode: 'undecided' };
    },
    onPointerMove: (event) => {
      const { current } = start;
      if (!current || current.mode === 'time') return;
      const [dx, dy] = [Math.abs(event.clientX - current.x), Math.abs(event.clientY - current.y)];
      if (current.mode === 'undecided') {
        if (Math.max(dx, dy) < DRAG_PIXELS) return;
        current.mode = dy > dx ? 'sweep' : 'time';
        if (current.mode === 'time') return;
        // The sheet began to follow this pointer for moving in time: let it go there.
        event.currentTarget.dispatchEvent(
          new PointerEvent('pointercancel', { bubbles: true, pointerId: event.pointerId }),
        );
        event.currentTarget.setPointerCapture(event.pointerId);
        start.current = { ...current, mode: 'sweep' };
      }
      event.stopPropagation();
      beginSweep(current.bit, bitUnder(event));
    },
    onPointerUp: (event) => {
      const { current } = start;
      start.current = null;
      if (!current || current.mode !== 'undecided') return;
      const bit = bitUnder(event);
      const { sweep } = usePayloads.getState();
      if (event.shiftKey || (sweep && event.pointerType === 'touch')) beginSweep(sweep?.anchor ?? threadOr(bit), bit);
      else touchThread(held, layout, bit);
    },
    onPointerCancel: () => {
      if (start.current?.mode !== 'sweep') start.current = null;
    },
    onKeyDown: (event) => onThreadKey(event, held, layout),
  };
}

const threadOr = (bit: number): number => {
  const { thread } = usePayloads.getState();
  return thread >= 0 ? thread : bit;
};

function beginSweep(anchor: number, head: number): void {
  const { order, set } = usePayloads.getState();
  useView.getState().select({ placement: null, signal: null });
  set({ sweep: limitSweep({ anchor, head }, order), thread: head, bandKey: null });
}

/** A click or Enter: opens a folded byte, else holds the field that the thread belongs to. */
function touchThread(held: Held, layout: WeaveLayout, bit: number): void {
  const { set } = usePayloads.getState();
  set({ thread: bit });
  const row = rowFor(layout, bit);
  if (row && row.kind !== 'thread') return set({ openByte: row.byte });
  const band = bandAt(held.bands, bit);
  if (band) holdBand(band);
  else letGo();
}

function onThreadKey(event: KeyboardEvent, held: Held, layout: WeaveLayout): void {
  const state = usePayloads.getState();
  const bytes = layout.bytes;
  const from = state.thread >= 0 ? state.thread : 7;
  const steps = { ArrowUp: -1, ArrowDown: 1 }[event.key];
  if (steps !== undefined) {
    event.preventDefault();
    const far = event.ctrlKey || event.metaKey ? 8 : 1;
    const to = state.thread < 0 && !event.shiftKey ? from : stepRow(layout, from, steps * far, bytes);
    if (event.shiftKey) beginSweep(state.sweep?.anchor ?? from, to);
    else state.set({ thread: to, ...(state.sweep ? { sweep: null } : {}) });
  } else if (event.key === 'Enter') {
    event.preventDefault();
    if (state.thread >= 0) touchThread(held, layout, state.thread);
  } else if (event.key === 'Escape' && (state.sweep || state.openByte !== null || held.band)) {
    event.preventDefault();
    if (!state.sweep && !held.band) state.set({ openByte: null });
    else letGo();
  }
}

/** The next thread, over folded rows in one step. */
function stepRow(layout: WeaveLayout, from: number, steps: number, bytes: number): number {
  if (!layout.folds) return stepThread(from, steps, bytes);
  const index = layout.rowOfBit[from] ?? 0;
  const row = layout.rows[Math.min(layout.rows.length - 1, Math.max(0, index + steps))];
  return row ? row.byte * 8 + (row.kind === 'thread' ? row.bit : 7) : from;
}
