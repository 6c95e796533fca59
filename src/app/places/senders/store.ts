/** What Senders holds beside the shared selection: what the pointer is over, whose grouping is shown, which dialog is open. */
import { create } from 'zustand';

interface SendersState {
  /** Key of a strand; null: none. */
  readonly hovered: string | null;
  /** As decided, moves by hand included; or as timing alone says. */
  readonly shows: 'hand' | 'timing';
  readonly dialog: 'rename' | 'move' | null;
  /** The group that the held identifier's clock is held against; null: its own, else the middle one. */
  readonly against: string | null;
  set(part: Partial<Omit<SendersState, 'set'>>): void;
}

export const useSenders = create<SendersState>((set) => ({
  hovered: null,
  shows: 'hand',
  dialog: null,
  against: null,
  set,
}));
