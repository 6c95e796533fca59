/**
 * The weave with its hands: drag down over threads to sweep, drag sideways to move in time, click to hold what lies
 * there; with the keyboard one stop, in which arrows move from thread to thread and Shift sweeps.
 */
import {
  useEffect,
  useMemo,
  useRef,
  type KeyboardEvent,
  type PointerEvent as ReactPointerEvent,
  type ReactNode,
} from 'react';
import { bitPositions } from '../../../frames/bits.ts';
import type { WeavePicture } from '../../../jobs/engine-types.ts';
import { streamName } from '../../../frames/table.ts';
import type { Band } from '../../pictures/bands-model.ts';
import type { WeaveLayout } from '../../pictures/weave-layout.ts';
import { bitAtHeight, foldWords, rowFor } from '../../pictures/weave-layout.ts';
import { paintWeave } from '../../pictures/weave-paint.ts';
import type { ActionColumn } from '../../pictures/weave-scene.ts';
import { weaveScene } from '../../pictures/weave-scene.ts';
import { pack, parseColour, rampOf, type Rgb } from '../../pictures/weave-shade.ts';
import { groupColor, usePalette, type Palette } from '../../theme/palette.ts';
import { Picture } from '../../surface/Picture.tsx';
import { useCurrentCapture } from '../../stores/asking.ts';
import { useView } from '../../stores/view.ts';
import { percent } from '../../words/format.ts';
import { useWeave } from './asking.ts';
import { holdBand, letGo, type Held } from './held.ts';
import { usePayloads } from './store.ts';
import { useGaps } from './TraceRows.tsx';
import { limitSweep, stepThread } from './sweep.ts';

/** Words on the last folded line hang a little below it. */
const FOLD_FOOT = 4;
const BLACK: Rgb = [0, 0, 0];

/** Without a sender group the weave is drawn in the first hue: one picture, one hue. */
function inksOf(palette: Palette, group: string | null): { hue: Rgb; ground: Rgb; ink: Rgb; night: boolean } {
  const hue = group ? groupColor(palette, group) : (palette.groups['A'] ?? palette.ink2);
  return {
    hue: parseColour(hue) ?? BLACK,
    ground: parseColour(palette.ground) ?? BLACK,
    ink: parseColour(palette.ink) ?? BLACK,
    night: palette.theme === 'night',
  };
}

interface WeaveProps {
  readonly held: Held;
  readonly layout: WeaveLayout;
  readonly columns: readonly ActionColumn[];
  readonly group: string | null;
}

export function WeaveView({ held, layout, columns, group }: WeaveProps): ReactNode {
  const answer = useWeave(held.stream);
  const name = held.stream ? streamName(held.stream) : '';
  const picture = answer.value && streamName(answer.value.stream) === name ? answer.value : null;
  const scene = useWeaveScene(held, layout, columns, group, picture);
  const thread = usePayloads((state) => state.thread);
  const root = useRef<HTMLDivElement>(null);
  const hands = useThreadHands(held, layout, root);
  return (
    <div
      ref={root}
      className="payloads-weave"
      role="application"
      aria-roledescription="weave"
      aria-label={`Weave of ${name}: arrows up and down move from thread to thread, Shift sweeps, Enter holds the field, F makes one`}
      tabIndex={0}
      {...hands}
    >
      <Picture
        label={`Weave of ${name}`}
        height={Math.max(40, layout.height + (layout.folds ? FOLD_FOOT : 0))}
        scene={scene}
        table={picture && <WeaveTable picture={picture} layout={layout} bands={held.bands} />}
      />
      {!picture && !answer.problem && <WaitingWords />}
      {answer.problem && <p className="payloads-problem">The weave could not be drawn: {answer.problem}.</p>}
      <p className="unseen" aria-live="polite">
        {thread >= 0 ? threadWords(thread, layout, held.bands, picture) : ''}
      </p>
    </div>
  );
}

/** While the recording is still being read the axes stand; the threads come when it is there. */
function WaitingWords(): ReactNode {
  const open = useCurrentCapture()?.open;
  const progress = open?.phase === 'reading' ? open.progress : null;
  if (open?.phase === 'ready') return null;
  const share = progress?.bytesTotal ? progress.bytesRead / progress.bytesTotal : 0;
  return (
    <p className="payloads-problem">Reading, {percent(share)}: the threads are drawn when the recording is read.</p>
  );
}

function useWeaveScene(
  held: Held,
  layout: WeaveLayout,
  columns: readonly ActionColumn[],
  group: string | null,
  picture: WeavePicture | null,
): Parameters<typeof Picture>[0]['scene'] {
  const palette = usePalette();
  const shows = usePayloads((state) => state.shows);
  const thread = usePayloads((state) => state.thread);
  const window = useView((view) => view.window);
  const cuts = useGaps(held.stream);
  const painted = useMemo(() => {
    if (!picture) return null;
    const scale = globalThis.devicePixelRatio || 1;
    const rest = pack(parseColour(palette.threadRest) ?? BLACK);
    return {
      picture,
      pixels: paintWeave(picture, layout, cuts, { ramp: rampOf(inksOf(palette, group)), rest, shows, scale }),
    };
  }, [picture, layout, cuts, palette, group, shows]);
  const { placement } = held;
  return useMemo(
    () => weaveScene({ window, layout, painted, columns, held: placement, thread }),
    [window, layout, painted, columns, placement, thread],
  );
}

/** The field whose bits include the thread. */
const bandAt = (bands: readonly Band[], position: number): Band | null =>
  bands.find((band) => !band.refused && bitPositions(band.placement).includes(position)) ?? null;

function threadWords(
  position: number,
  layout: WeaveLayout,
  bands: readonly Band[],
  picture: WeavePicture | null,
): string {
  const row = rowFor(layout, position);
  const place = row?.kind === 'folded' ? foldWords(row) : `byte ${position >> 3} bit ${position & 7}`;
  const band = bandAt(bands, position);
  const stats = picture ? shareWords(picture, position) : '';
  return [place, stats, band ? `in ${band.name || band.words}` : 'in no field'].filter(Boolean).join(', ');
}

function shares(picture: WeavePicture, position: number): { set: number; changed: number } | null {
  const { columns } = picture.window;
  let frames = 0;
  let set = 0;
  let changed = 0;
  for (let column = 0; column < columns; column++) {
    const count = picture.frames[column] as number;
    const s = picture.set[position * columns + column] as number;
    if (count === 0 || s !== s) continue;
    frames += count;
    set += s * count;
    changed += (picture.changed[position * columns + column] as number) * count;
  }
  return frames ? { set: set / frames, changed: changed / frames } : null;
}

function shareWords(picture: WeavePicture, position: number): string {
  const share = shares(picture, position);
  return share ? `set in ${percent(share.set)} of frames, changes in ${percent(share.changed, 1)}` : '';
}

function WeaveTable({
  picture,
  layout,
  bands,
}: {
  picture: WeavePicture;
  layout: WeaveLayout;
  bands: readonly Band[];
}): ReactNode {
  return (
    <table>
      <caption>Threads in view</caption>
      <thead>
        <tr>
          <th>thread</th>
          <th>set</th>
          <th>changes</th>
          <th>field</th>
        </tr>
      </thead>
      <tbody>
        {layout.rows.map((row) => {
          const position = row.byte * 8 + (row.kind === 'thread' ? row.bit : 0);
          const share = shares(picture, position);
          return (
            <tr key={row.y}>
              <td>
                {row.kind === 'folded'
                  ? foldWords(row)
                  : row.kind === 'strip'
                    ? `byte ${row.byte}`
                    : `byte ${row.byte} bit ${row.bit}`}
              </td>
              <td>{share ? percent(share.set) : 'no frames'}</td>
              <td>{share ? percent(share.changed, 1) : ''}</td>
              <td>{bandAt(bands, position)?.name ?? ''}</td>
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}

const DRAG_PIXELS = 4;

type Hands = Pick<
  React.DOMAttributes<HTMLElement>,
  'onPointerDown' | 'onPointerMove' | 'onPointerUp' | 'onPointerCancel' | 'onKeyDown' | 'onFocus'
>;

function useThreadHands(held: Held, layout: WeaveLayout, root: React.RefObject<HTMLElement | null>): Hands {
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
    onFocus: () => undefined,
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
