/**
 * The loom with its hands: the pointer holds strands and rows; with the keyboard it is one stop, in which arrows walk from strand to
 * strand and Shift from sender to sender. It draws what is in view; the rest scrolls under its head.
 */
import {
  useEffect,
  useMemo,
  useRef,
  useState,
  type KeyboardEvent,
  type MouseEvent,
  type PointerEvent,
  type ReactNode,
} from 'react';
import { layoutLoom, HEAD, type LoomLayout, type PlacedStrand } from '../../../timing/loom/layout.ts';
import type { Strand } from '../../../timing/loom/model.ts';
import { loomScene } from '../../../timing/loom/scene.ts';
import { strandAt, strandPath, trunkOf } from '../../../timing/loom/trunk.ts';
import { Picture } from '../../surface/Picture.tsx';
import { plural } from '../../../kit/sheet-figures.ts';
import { useView } from '../../stores/view.ts';
import { usePhone } from '../payloads/layout.ts';
import { holdStrand, useHeldStrand, type HeldLoom } from './held.ts';
import { LoomTable } from './LoomTable.tsx';
import { strandWords } from './strand-words.ts';
import { useSenders } from './store.ts';

/** The strip that says what is below. */
const MORE_HEIGHT = 20;
const HEIGHT_LEAST = 280;
/** What the reasons leave of the view where they come up from the foot. */
const UNCOVERED = 0.36;

export function LoomView({ held }: { held: HeldLoom }): ReactNode {
  const root = useRef<HTMLDivElement>(null);
  const phone = usePhone();
  const box = useBox(root, phone);
  const strand = useHeldStrand(held);
  const hovered = useSenders((state) => state.hovered);
  const viewHeight = Math.max(HEIGHT_LEAST, box.height);
  const { loom } = held;
  const layout = useMemo(
    () => loom && layoutLoom(loom, { width: box.width, height: viewHeight, narrow: phone }),
    [loom, box.width, viewHeight, phone],
  );
  const shown = Math.min(viewHeight, layout?.height ?? viewHeight);
  const scrollY = Math.max(0, Math.min(box.scrollY, (layout?.height ?? 0) - shown));
  const selected = strand?.key ?? null;
  const scene = useMemo(
    () => (layout ? loomScene({ layout, scrollY, selected, hovered }) : () => undefined),
    [layout, scrollY, selected, hovered],
  );
  const drawer = useView((view) => view.drawer);
  useReveal(root, layout, selected, phone && drawer ? shown * UNCOVERED : shown, phone);
  const hands = useHands(layout, scrollY, shown, phone);
  if (!loom || !layout) return null;
  const label = `Loom: ${plural(loom.identifiers, 'identifier')}, ${plural(loom.senders, 'sender')}`;
  return (
    <div
      ref={root}
      className="senders-loom"
      style={{ height: layout.height }}
      role="application"
      aria-roledescription="loom"
      aria-label={`${label}. Arrows up and down walk from strand to strand, with Shift from sender to sender; Enter opens the payload, G moves, R renames`}
      tabIndex={0}
      onKeyDown={(event) => walk(event, held.strands, strand)}
      {...hands}
    >
      <div className="senders-view" style={{ height: shown }}>
        <Picture label={label} height={shown} scene={scene} table={<LoomTable loom={loom} />} />
        <MoreBelow layout={layout} toY={scrollY + shown} />
      </div>
      <p className="unseen" aria-live="polite">
        {strand ? strandWords(strand) : ''}
      </p>
    </div>
  );
}

/** What the view does not reach, in words: rows are never made lower than they can be read. */
function MoreBelow({ layout, toY }: { layout: LoomLayout; toY: number }): ReactNode {
  const below = layout.strands.filter(({ y }) => y > toY - layout.pitch / 4);
  if (below.length === 0) return null;
  const senders = new Set(below.flatMap(({ strand }) => strand.group ?? [])).size;
  return (
    <p className="senders-more tiny dim" aria-hidden="true">
      {plural(below.length, 'identifier')} more below{senders ? `, of ${plural(senders, 'sender')}` : ''}
    </p>
  );
}

interface Box {
  readonly width: number;
  readonly height: number;
  readonly scrollY: number;
}

/** Width of the sheet, height of what is in view above the foot, and how far it has scrolled. */
function useBox(root: React.RefObject<HTMLDivElement | null>, phone: boolean): Box {
  const [box, setBox] = useState<Box>({ width: 0, height: 0, scrollY: 0 });
  useEffect(() => {
    const element = root.current;
    const scroller = element?.closest<HTMLElement>(phone ? '.place' : '.place-scroll');
    if (!element || !scroller) return;
    const foot = element.parentElement?.querySelector<HTMLElement>('.senders-foot');
    const measure = (): void => {
      const height = scroller.clientHeight - (phone ? 0 : (foot?.offsetHeight ?? 0));
      setBox({ width: element.clientWidth, height, scrollY: scroller.scrollTop });
    };
    const watch = new ResizeObserver(measure);
    for (const one of [scroller, element, foot]) if (one) watch.observe(one);
    scroller.addEventListener('scroll', measure, { passive: true });
    measure();
    return () => {
      watch.disconnect();
      scroller.removeEventListener('scroll', measure);
    };
  }, [root, phone]);
  return box;
}

/** Scrolls so that the held row is in view, under the head that stays. */
function useReveal(
  root: React.RefObject<HTMLDivElement | null>,
  layout: LoomLayout | null,
  selected: string | null,
  shown: number,
  phone: boolean,
): void {
  useEffect(() => {
    const scroller = root.current?.closest<HTMLElement>(phone ? '.place' : '.place-scroll');
    const placed = layout?.strands.find(({ strand }) => strand.key === selected);
    if (!scroller || !layout || !placed) return;
    const [top, bottom] = [placed.y - layout.pitch / 2 - HEAD, placed.y + layout.pitch];
    if (top < scroller.scrollTop) scroller.scrollTop = Math.max(0, top);
    else if (bottom > scroller.scrollTop + shown - MORE_HEIGHT) scroller.scrollTop = bottom - shown + MORE_HEIGHT;
  }, [root, layout, selected, shown, phone]);
}

interface Hands {
  onPointerMove(event: PointerEvent<HTMLElement>): void;
  onPointerLeave(): void;
  onClick(event: MouseEvent<HTMLElement>): void;
}

function useHands(layout: LoomLayout | null, scrollY: number, shown: number, phone: boolean): Hands {
  const paths = useMemo(() => {
    const all = new Map<PlacedStrand, readonly number[]>();
    for (const bus of layout?.buses ?? []) {
      const trunk = trunkOf(layout as LoomLayout, bus, scrollY, scrollY + shown);
      for (const placed of bus.branches.flatMap(({ strands }) => strands))
        all.set(placed, strandPath(layout as LoomLayout, bus, trunk, placed));
    }
    return all;
  }, [layout, scrollY, shown]);
  const under = (event: { clientX: number; clientY: number; currentTarget: HTMLElement }): Strand | null => {
    const view = event.currentTarget.querySelector('.senders-view')?.getBoundingClientRect();
    if (!view || !layout) return null;
    const y = event.clientY - view.top;
    if (scrollY > 0 && y < HEAD - 6) return null;
    return strandAt(layout, paths, event.clientX - view.left, y + scrollY)?.strand ?? null;
  };
  const hover = (key: string | null): void => {
    if (useSenders.getState().hovered !== key) useSenders.getState().set({ hovered: key });
  };
  return {
    onPointerMove: (event) => {
      if (event.pointerType === 'mouse') hover(under(event)?.key ?? null);
    },
    onPointerLeave: () => hover(null),
    onClick: (event) => {
      const strand = under(event);
      holdStrand(strand?.stream ?? null);
      if (phone) useView.getState().setDrawer(strand !== null);
    },
  };
}

/** Arrows from strand to strand, with Shift to the next sender, Home and End, pages of ten; Esc lets go. */
function walk(event: KeyboardEvent, strands: readonly Strand[], held: Strand | null): void {
  const at = held ? strands.indexOf(held) : -1;
  const shift = event.shiftKey;
  const moves: Record<string, () => number> = {
    ArrowUp: () => (shift ? senderBefore(strands, at) : at < 0 ? strands.length - 1 : at - 1),
    ArrowDown: () => (shift ? senderAfter(strands, at) : at + 1),
    Home: () => 0,
    End: () => strands.length - 1,
    PageUp: () => at - 10,
    PageDown: () => at + 10,
  };
  const to = moves[event.key];
  if (event.key === 'Escape' && held) holdStrand(null);
  else if (to && strands.length) holdStrand(strands[Math.max(0, Math.min(strands.length - 1, to()))]?.stream ?? null);
  else return;
  event.preventDefault();
}

const isSameBranch = (a: Strand | undefined, b: Strand | undefined): boolean =>
  a?.group === b?.group && a?.stream.bus === b?.stream.bus;

function senderAfter(strands: readonly Strand[], at: number): number {
  const next = strands.findIndex((strand, place) => place > at && !isSameBranch(strand, strands[at]));
  return next < 0 ? at : next;
}
function senderBefore(strands: readonly Strand[], at: number): number {
  const before = strands.findLastIndex((strand, place) => place < at && !isSameBranch(strand, strands[at]));
  return before < 0 ? 0 : strands.findIndex((strand) => isSameBranch(strand, strands[before]));
}
