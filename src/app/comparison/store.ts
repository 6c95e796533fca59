/** Which two captures are compared, or which spans of one, and whether Captures shows it. Not saved: it can be asked again at once. */
import { create } from 'zustand';
import type { DossierCapture } from '../../jobs/dossier.ts';
import type { Span } from '../stores/view.ts';

export interface Side {
  readonly captureId: string;
  /** null: all of it, or what its trim keeps. */
  readonly span: Span | null;
}

interface ComparisonState {
  readonly shown: boolean;
  /** null: as `usualSides` has it. */
  readonly a: Side | null;
  readonly b: Side | null;
  show(shown: boolean): void;
  choose(which: 'a' | 'b', side: Side): void;
  swap(a: Side | null, b: Side | null): void;
}

export const useComparisonChoice = create<ComparisonState>((set) => ({
  shown: false,
  a: null,
  b: null,
  show: (shown) => set({ shown }),
  choose: (which, side) => set(which === 'a' ? { a: side } : { b: side }),
  swap: (a, b) => set({ a: b, b: a }),
}));

const UNPLUGGED = /\bunplugged\b|\bplug (is )?off\b|\bdisconnected\b|\bwithout\b|\bmissing\b|\bremoved\b/i;

/** Whether its role, or else its title, says that a module was missing. */
export const isUnplugged = ({ role, title }: Pick<DossierCapture, 'role' | 'title'>): boolean =>
  UNPLUGGED.test(role) || (role === '' && UNPLUGGED.test(title));

type Sided = Pick<DossierCapture, 'id' | 'role' | 'title'>;

/** The second: a capture with a module unplugged, else the last. The first: the one in view, unless it is that very one. */
export function usualSides(
  captures: readonly Sided[],
  currentId: string | null,
): { readonly a: Side | null; readonly b: Side | null } {
  const second = captures.find(isUnplugged) ?? (captures.length > 1 ? captures[captures.length - 1] : undefined);
  const others = captures.filter((capture) => capture !== second);
  const first = others.find(({ id }) => id === currentId) ?? others.find(({ role }) => role === 'main') ?? others[0];
  const side = (capture: Sided | undefined): Side | null => (capture ? { captureId: capture.id, span: null } : null);
  return { a: side(first), b: side(second) };
}

/** What is chosen by hand, where those captures are still there; else the usual. */
export function sidesOf(
  captures: readonly Sided[],
  currentId: string | null,
  chosen: Pick<ComparisonState, 'a' | 'b'>,
): { readonly a: Side | null; readonly b: Side | null } {
  const usual = usualSides(captures, currentId);
  const known = (side: Side | null): Side | null =>
    side && captures.some(({ id }) => id === side.captureId) ? side : null;
  return { a: known(chosen.a) ?? usual.a, b: known(chosen.b) ?? usual.b };
}
